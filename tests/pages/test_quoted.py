"""Many quotes in a list: what is said of those that have no price."""

from collections.abc import Callable

from analytics.answers.quote_input import CracksToQuote, frame
from analytics.answers.quoting import quote
from analytics.answers.records import Records
from analytics.pages import quoted
from analytics.pages.page import Table
from tests.histories import CRACK, DONE_JOB

TYPED = {"length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200.0, "resin": "epoxy", "travel_minutes": 40.0}


def test_what_no_crack_can_be_priced_without_is_not_told_as_a_cracks_own_fault(
    records_of: Callable[..., Records],
) -> None:
    thin = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    typed = [TYPED | {"travel_minutes": None}, TYPED | {"wall_thickness_mm": None}]
    found = quote(
        thin,
        CracksToQuote(
            frame(
                [
                    {**row, "crack_id": f"K-{n}", "job_id": f"J-{n}", "cracks_on_job": 1}
                    for n, row in enumerate(typed, 2)
                ]
            )
        ),
    )
    assert [each.price.floor for each in found.quotes] == [None, None]
    assert "No travel is given, so none is counted." in found.quotes[0].notes
    tables = [part for part in quoted.build(found).parts if isinstance(part, Table)]
    [unpriced] = [table.rows for table in tables if table.title == "Cracks, why it has no price"]
    assert unpriced.rows() == [
        ("K-3", "Not recorded: wall thickness; without it litres and price cannot be told."),
    ]
