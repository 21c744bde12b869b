"""The upcoming jobs as data: what is said where nothing is planned."""

from collections.abc import Callable

import pytest

from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.pages import upcoming
from analytics.pages.page import Table, Words
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB


@pytest.mark.parametrize("order", ["pressing", "week"])
def test_that_nothing_is_planned_is_said_once(records_of: Callable[..., Records], order: str) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    listed = upcoming.build_list(flagging.flags(records), everything=True)
    for page in (listed, upcoming.build(records, {"order": order})):
        assert page.answer == "No planned cracks."
        shown = [part for part in every_part(page.parts) if isinstance(part, Table | Words)]
        said = [part.text if isinstance(part, Words) else part.empty for part in shown]
        assert not any("planned crack is like that" in text for text in said)
