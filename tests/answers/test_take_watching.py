"""The take-ratio watch of a store: the list, what it cost, and what is said without history."""

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers.records import Records
from analytics.answers.take_watching import watch_take
from analytics.pages import take_ratio
from analytics.pages.page import Section, Table, Words
from tests.histories import CRACK, DONE_JOB


def plain(text: str) -> str:
    return re.sub(r"\s", " ", text)


def test_the_demo_lists_its_cracks_with_what_the_resin_cost(demo_store: Path) -> None:
    found = watch_take(Records.of(demo_store))
    assert found.watch is not None
    assert found.cost is not None
    rates = {"epoxy": Decimal("44.50"), "urethane_foam": Decimal("38.50")}
    by_hand = sum(Decimal(str(each.litres - each.explained)) * rates[each.resin] for each in found.watch.excesses)
    assert found.cost == pytest.approx(by_hand, abs=Decimal("0.01"))
    assert found.answer()["rows"]
    page = take_ratio.build(Records.of(demo_store), {})
    assert page.answer.startswith(f"Of {found.watch.cracks:,}".replace(",", "\u202f"))
    assert "USD" not in page.answer
    [cost] = [part for part in page.parts if isinstance(part, Section)]
    [said] = [part.text for part in cost.parts if isinstance(part, Words)]
    thousands, rest = divmod(round(found.cost), 1000)
    assert plain(said) == f"{found.litres:.1f} L at today's rates: {thousands} {rest:03} USD."
    assert page.answer.endswith(" By chance alone about 1 would be listed; none took as much less.")
    [table] = [part for part in page.parts if isinstance(part, Table)]
    shown = zip(found.watch.excesses, table.rows["reading"], strict=True)
    assert {each.slip for each in found.watch.excesses} > {""}
    assert all(said == (f"{each.reading}, {each.slip}" if each.slip else each.reading) for each, said in shown)


def test_too_little_work_is_said(records_of: Callable[..., Records]) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK | {"resin": "epoxy", "resin_litres": 0.3}]})
    found = watch_take(records)
    assert found.watch is None
    assert "99 more would do" in found.said
    assert take_ratio.build(records, {}).wanting == found.said
