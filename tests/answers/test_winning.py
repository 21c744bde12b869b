"""Win rates as asked for: each quote against its own day's target, and silence where nothing lost is recorded."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest

from analytics.answers.records import Records
from analytics.answers.winning import Winning, winning
from analytics.demo import simulate
from tests.answers.test_pricing import history
from tests.truth import stores

Opener = Callable[..., Records]


@pytest.fixture(scope="module")
def found(demo_store: Path) -> Winning:
    return winning(Records.of(demo_store))


def test_every_quote_won_or_lost_is_in_a_band_or_left_out(demo_store: Path, found: Winning) -> None:
    jobs = Records.of(demo_store).ask("quoted_cracks").unique("job_id")
    assert found.bands["quotes"].sum() == found.quotes
    assert found.quotes + found.left_out == jobs.height
    assert found.lost <= jobs.height - jobs["won"].sum()
    assert found.left_out < 0.05 * jobs.height


def test_dearer_quotes_of_the_demo_were_won_less_often(found: Winning) -> None:
    values = found.bands.filter(found.bands["quotes"] > 200)["value"].to_list()
    assert values == sorted(values, reverse=True)
    assert found.curve["value"].is_sorted(descending=True)
    assert any("not set at random" in text for text in found.said)


def test_a_higher_margin_makes_the_same_prices_cheaper_against_the_target(demo_store: Path, found: Winning) -> None:
    high = winning(Records.of(demo_store), margin=Decimal("0.6"))
    under = {row["band"]: row["quotes"] for row in high.bands.to_dicts()}
    assert under["under 80 %"] > 0.9 * found.quotes


def test_the_answer_holds_no_best_price(found: Winning) -> None:
    answer = found.answer()
    assert not any("best" in key or "optim" in key for key in answer)
    assert {"quotes", "lost", "by_band_of_price_over_target", "curve", "said"} <= answer.keys()


def test_too_little_work_or_no_margin_is_said(records_of: Opener) -> None:
    records = records_of(history())
    assert winning(records).said[0].startswith("No win rates. No target: set the margin")
    assert winning(records, margin=Decimal("0.3")).said[0].startswith("No win rates. Not enough of your own jobs yet")


@pytest.mark.parametrize(("left", "why"), [({}, "no rate for a port"), ({"currency": "EUR"}, "in EUR and USD")])
def test_a_rate_that_is_missing_or_in_another_currency_is_said(tmp_path: Path, left: dict[str, str], why: str) -> None:
    tables = simulate(seed=3, n_jobs=400)
    ports, others = tables["rates"].filter(item="port_each"), tables["rates"].filter(pl.col("item") != "port_each")
    changed = ports.with_columns(currency=pl.lit(left["currency"])) if left else ports.clear()
    rates = pl.concat([others, changed])
    records = stores.records_of(tables | {"rates": rates}, tmp_path, (*stores.NEEDED, "rates"))
    found = winning(records, margin=Decimal("0.3"))
    assert found.bands.is_empty()
    start, reason = found.said[0][:14], found.said[0][14:]
    assert start == "No win rates. "
    assert (reason[0].isupper(), reason[-1]) == (True, ".")
    assert why in reason[0].lower() + reason[1:]


def test_lost_quotes_that_cannot_be_priced_are_not_said_to_be_missing(tmp_path: Path) -> None:
    tables = simulate(seed=3, n_jobs=400)
    lost = tables["jobs"].filter(status="lost")["job_id"]
    length = pl.when(~pl.col("job_id").is_in(lost.implode())).then("length_m")
    records = stores.records_of(
        tables | {"cracks": tables["cracks"].with_columns(length_m=length)}, tmp_path, (*stores.NEEDED, "rates")
    )
    found = winning(records, margin=Decimal("0.3"))
    quoted = records.ask("quoted_cracks").filter(~pl.col("won"))["job_id"].n_unique()
    assert found.said[0].startswith(f"No win rates. {quoted} lost quotes were recorded, none with ")
    assert found.left_out >= quoted


def test_no_quote_is_priced_by_a_crew_for_a_lost_one_never_had_any(demo_store: Path) -> None:
    quoted = Records.of(demo_store).ask("quoted_cracks")
    assert quoted["won"].n_unique() == 2
    assert quoted["crew_id"].null_count() == quoted.height
