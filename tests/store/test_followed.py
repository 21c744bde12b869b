"""The follow-up laid ready beside the records: the same answers from it, and from nothing else than these records."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import risk
from analytics.answers import modelling
from analytics.answers.loading import Loaded, undo
from analytics.answers.records import Records, policy_path
from analytics.contract.ages import horizon_days
from analytics.contract.dimensions import DIMENSIONS, Dimension, dimension
from analytics.errors import CannotWriteError
from analytics.metrics import curves, measure
from analytics.metrics.registry import METRICS
from analytics.store import Store, followed
from analytics.store.checking import check
from analytics.store.composing import FOLLOWED, compose, selects
from tests.histories import CRACK, DONE_JOB, TODAY

GROUPED = ("leak_back_rate", "ratio")
COLUMNS = {"numerator": "resin_litres", "denominator": "length_m"}


@pytest.fixture(scope="module")
def laid(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's store with its follow-up laid ready; tests only read it."""
    path = tmp_path_factory.mktemp("laid") / "store.duckdb"
    shutil.copy(demo_store, path)
    Records.of(path).ask.keep_followed()
    return path


@pytest.fixture
def always(monkeypatch: pytest.MonkeyPatch) -> None:
    """Laid ready however few cracks there are."""
    monkeypatch.setattr(followed, "LEAST_CRACKS", 0)


def both(path: Path) -> tuple[Records, Records]:
    """The records with their follow-up read where it is laid ready, and worked out."""
    ready = Records.of(path)
    assert ready.ask.followed is not None
    return ready, replace(ready, ask=replace(ready.ask, followed=None))


def resting() -> list[str]:
    """The questions that read the follow-up, by others or themselves; but for a step that leaves lone cracks out."""
    names = sorted(selects().keys() - {"leak_back_jobs"})
    return [name for name in names if "from followed_" in compose(name, [], [], COLUMNS, (), "followed_x")]


def same(one: pl.DataFrame, other: pl.DataFrame) -> None:
    nine = pl.selectors.float().round_sig_figs(9)  # sums in another order differ beyond, and sort rows otherwise
    assert_frame_equal(one.with_columns(nine), other.with_columns(nine), check_row_order=False, rel_tol=1e-8)


def test_the_questions_that_rest_on_it_are_known() -> None:
    assert {*FOLLOWED, *GROUPED, "crack_prices", "filled_cells", "job_means", "estimate_grounds"} <= set(resting())


@pytest.mark.parametrize("name", resting())
def test_every_question_has_the_same_answer_from_it(laid: Path, name: str) -> None:
    months, days = [24], [float(horizon_days(24))]
    first, last = date(2024, 1, 1), TODAY
    one, other = (
        records.ask(name, columns=COLUMNS, ages_months=months, ages_days=days, first_day=first, last_day=last)
        for records in both(laid)
    )
    assert other.height
    same(one.select(other.columns), other)


@pytest.mark.parametrize("by", DIMENSIONS.values(), ids=lambda each: each.name)
@pytest.mark.parametrize("metric", METRICS.values(), ids=lambda each: each.name)
def test_every_metric_is_the_same_by_every_grouping(laid: Path, metric: object, by: Dimension) -> None:
    ready, plain = both(laid)
    same(measure(ready.ask, metric, [by]).rows, measure(plain.ask, metric, [by]).rows)  # type: ignore[arg-type]


def test_curves_narrowed_to_a_word_are_the_same(laid: Path) -> None:
    only = {dimension("water"): "seeping", dimension("season"): "winter"}
    one, other = (
        curves(records.ask, [dimension("resin")], ages_months=range(1, 61), only=only) for records in both(laid)
    )
    assert one.height == 120
    same(one, other)


def test_the_model_is_the_same(laid: Path) -> None:
    ready, plain = (records.ask("follow_up", read=risk.READ).sort("crack_id") for records in both(laid))
    assert_frame_equal(ready, plain)


def test_it_knows_the_cracks_that_are_alone_in_their_job(laid: Path) -> None:
    store = Store(laid)
    found = store.frame(f"select crack_id, alone from {Records.of(laid).ask.followed}")
    cracks = store.frame("select crack_id, job_id from cracks").with_columns(of_job=pl.len().over("job_id"))
    told = found.join(cracks, on="crack_id")
    assert 0 < told["alone"].sum() < told.height
    assert told["alone"].equals(told["of_job"] == 1, check_names=False)


def history(day: str, length_m: float = 2.0) -> dict[str, list[dict[str, object]]]:
    return {"jobs": [{**DONE_JOB, "done_on": day}], "cracks": [{**CRACK, "length_m": length_m}]}


@pytest.mark.usefixtures("always")
def test_a_load_lays_it_ready_anew_and_taking_it_back_leaves_it_unread(
    load_tables: Callable[..., Loaded], store_path: Path
) -> None:
    load_tables(history("2024-01-15"))
    first = Records.of(store_path).ask
    assert first.followed
    load_tables(history("2024-02-01", 3.0), "second")
    second = Records.of(store_path).ask
    assert second.followed not in {first.followed, None}
    assert second("follow_up")["done_on"].to_list() == [date(2024, 2, 1)]
    with Store(store_path).connect() as connection:
        assert followed.tables(connection) == [second.followed]
    undo(store_path)
    third = Records.of(store_path).ask
    assert third.followed is None
    assert third("follow_up")["done_on"].to_list() == [date(2024, 1, 15)]
    assert check(Store(store_path)).is_sound


@pytest.mark.usefixtures("always")
def test_a_fit_lays_it_ready_where_it_is_not(demo_store: Path, store_path: Path) -> None:
    shutil.copy(demo_store, store_path)
    assert Records.of(store_path).ask.followed is None
    records = Records.of(store_path)
    with records.store.reading():  # as a page does that has no model yet
        records.ask("done_jobs")
        modelling.fit(records)
    assert Records.of(store_path).ask.followed is not None


@pytest.mark.usefixtures("always")
@pytest.mark.parametrize(("more", "made"), [(2, True), (1, False)])
def test_a_load_of_less_than_half_of_the_cracks_leaves_it_to_the_next_fit(
    load_tables: Callable[..., Loaded], store_path: Path, more: int, made: bool
) -> None:
    first = [{**CRACK, "crack_id": f"K-{n}"} for n in range(2)]
    load_tables({"jobs": [DONE_JOB], "cracks": first})
    load_tables({"cracks": [{**CRACK, "crack_id": f"L-{n}"} for n in range(more)]}, "second")
    assert (Records.of(store_path).ask.followed is not None) is made
    assert Records.of(store_path).ask("follow_up").height == 2 + more


def test_few_cracks_need_none(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables(history("2024-01-15"))
    assert Records.of(store_path).ask.followed is None
    with Store(store_path).connect() as connection:
        assert followed.tables(connection) == []


def test_an_earlier_day_and_another_hemisphere_are_not_read_from_it(laid: Path, store_path: Path) -> None:
    shutil.copy(laid, store_path)
    now = Records.of(store_path)
    assert now.as_of is not None
    assert Records.of(store_path, now.as_of - timedelta(days=1)).ask.followed is None
    policy_path(store_path).write_text('hemisphere = "south"\n', encoding="utf-8")
    south = Records.of(store_path)
    assert south.ask.followed is None
    south.ask.keep_followed()
    north_seasons, south_seasons = (
        each.ask("follow_up").filter(pl.col("done_on").dt.month() == 1)["season"].unique().to_list()
        for each in (now, Records.of(store_path))
    )
    assert (north_seasons, south_seasons) == (["winter"], ["summer"])
    assert check(Store(store_path)).is_sound


def test_one_that_is_not_what_the_records_answer_is_found_out(laid: Path, store_path: Path) -> None:
    shutil.copy(laid, store_path)
    table = Records.of(store_path).ask.followed
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute(f"update {table} set leaked_back = not leaked_back where crack_id = 'J-0001-1'")
    [fault] = check(Store(store_path)).faults
    assert fault.part == "follow-up"


@pytest.mark.usefixtures("always")
def test_a_load_is_done_where_it_cannot_be_laid_ready(
    load_tables: Callable[..., Loaded],
    store_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def full(*_: object) -> None:
        raise CannotWriteError("the disk is full")

    monkeypatch.setattr(followed, "keep", full)
    assert load_tables(history("2024-01-15")).tables["cracks"].loaded == 1
    assert "answers will take longer" in caplog.text
    assert Records.of(store_path).ask("follow_up").height == 1
