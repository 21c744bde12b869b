"""A column's plain name: a person's words, declared once, that leave the unit to the value."""

import pytest

from analytics.answers.quote_input import ASKED
from analytics.contract.descriptions import crew_said, label
from analytics.contract.tables import TABLES

NAMES = sorted({name for table in TABLES.values() for name in table.column_names()} | set(ASKED))
UNITS = {"m", "mm", "c", "litres", "minutes", "months", "id"}


@pytest.mark.parametrize("name", [name for name in NAMES if not name.endswith("_on")])
def test_a_plain_name_leaves_out_the_unit(name: str) -> None:
    assert "_" not in label(name)
    assert label(name).rsplit(" ", maxsplit=1)[-1] not in UNITS


def test_the_plain_names_that_pages_and_sentences_share() -> None:
    names = ("length_m", "width_mm", "wall_thickness_mm", "resin", "port_spacing_mm", "cracks_on_job", "crew_id")
    said = "length, width, wall thickness, resin, port spacing, cracks on the job, crew"
    assert ", ".join(map(label, names)) == said


@pytest.mark.parametrize(
    ("crew", "said"),
    [
        ("C01", "crew C01"),
        ("7", "crew 7"),
        ("crew-323145", "crew-323145"),
        ("CREW2", "CREW2"),
        ("crewe2", "crew crewe2"),
    ],
)
def test_crew_is_said_once(crew: str, said: str) -> None:
    assert crew_said(crew) == said
