"""A page is worked out once for the records as they are, and anew as soon as they change."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from streamlit.testing.v1 import AppTest

from analytics.answers.loading import Loaded, load
from analytics.answers.records import Records, policy_path
from analytics.answers.standing import Person
from analytics.contract.places import STORE_VARIABLE
from analytics.contract.roles import Role
from analytics.contract.units import displayed
from analytics.errors import CannotWriteError, RecordsMovedError
from analytics.intake import private_path
from analytics.pages.page import Page
from analytics.pages.questions import PAGES
from analytics.render import dashboard
from analytics.store import Store
from analytics.store.turns import Turns
from tests.histories import CRACK, DONE_JOB, TODAY, write_tables

OWNER: Role = "owner"
PATIENCE_SECONDS = 60
RECORDS = "records"


def jobs_said(store: Path) -> str:
    return dashboard.page(store, RECORDS, OWNER, {}).answer


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that were opened, one entry each time."""
    seen: list[str] = []
    connect = duckdb.connect

    def counted(path: str, **settings: Any) -> duckdb.DuckDBPyConnection:
        seen.append(path)
        return connect(path, **settings)

    monkeypatch.setattr(duckdb, "connect", counted)
    return seen


def test_a_page_follows_the_records(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    before = jobs_said(store_path)
    load_tables({"jobs": [DONE_JOB, DONE_JOB | {"job_id": "another"}]}, "more")
    assert before != jobs_said(store_path)


def test_a_page_is_built_anew_where_a_load_leaves_the_file_looking_the_same(
    load_tables: Callable[..., Loaded], store_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dashboard, "signature", lambda _: ((1, 1, 1),))
    load_tables({"jobs": [DONE_JOB]})
    dashboard.page(store_path, RECORDS, OWNER, {})
    load_tables({"jobs": [DONE_JOB, DONE_JOB | {"job_id": "another"}]}, "more")
    assert "2" in dashboard.page(store_path, RECORDS, OWNER, {"again": "1"}).answer


@pytest.mark.parametrize("moves", [1, dashboard.ATTEMPTS])
def test_a_page_keeps_writers_waiting_only_once_it_was_overtaken_again_and_again(
    load_tables: Callable[..., Loaded], store_path: Path, monkeypatch: pytest.MonkeyPatch, moves: int
) -> None:
    load_tables({"jobs": [DONE_JOB]})
    built, tried = dashboard._built, []

    def overtaken(*asked: Any) -> Page:
        try:
            with Turns(store_path.resolve(), 0).alone():
                tried.append("others may write")
        except CannotWriteError:
            tried.append("others wait")
        if len(tried) <= moves:
            raise RecordsMovedError(store_path)
        return built(*asked)

    monkeypatch.setattr(dashboard, "_built", overtaken)
    assert "1 job" in jobs_said(store_path)
    assert tried == ["others may write"] * moves + ["others may write" if moves == 1 else "others wait"]


def test_a_page_opens_the_store_once_for_all_it_asks(demo_store: Path, opened: list[str]) -> None:
    dashboard.page(demo_store, "leak-backs", OWNER, {})
    opened.clear()
    dashboard.page(demo_store, "leak-backs", OWNER, {"by": "branch"})
    assert opened == [str(demo_store)]


def test_another_horizon_asks_the_store_nothing(demo_store: Path, opened: list[str]) -> None:
    first = dashboard.page(demo_store, "leak-backs", OWNER, {"by": "water"})
    opened.clear()
    assert dashboard.page(demo_store, "leak-backs", OWNER, {"by": "water", "months": "12"}).answer != first.answer
    assert opened == []


def test_a_quote_changed_by_its_reader_asks_the_store_nothing(demo_store: Path, opened: list[str]) -> None:
    crack = {"length_m": "2.4", "width_mm": "0.5", "resin": "epoxy", "water": "damp"}
    first = dashboard.page(demo_store, "quote", OWNER, crack)
    opened.clear()
    assert dashboard.page(demo_store, "quote", OWNER, crack | {"length_m": "3.1"}).answer != first.answer
    assert opened == []


def test_a_page_that_fits_the_model_anew_keeps_it(demo_store: Path, tmp_path: Path) -> None:
    store = Path(shutil.copy(demo_store, tmp_path / "demo.duckdb"))
    shutil.copy(private_path(demo_store), private_path(store))
    load(store, [write_tables(tmp_path / "more", {"jobs": [DONE_JOB], "cracks": [CRACK]})], today=TODAY)
    before = Records.of(store).ask("model_document")
    assert dashboard.page(store, "prices", OWNER, {}).parts
    assert not Records.of(store).ask("model_document").equals(before)


def test_a_page_is_kept_in_the_units_of_the_records_whoever_has_it_built(demo_store: Path, tmp_path: Path) -> None:
    store = Path(shutil.copy(demo_store, tmp_path / "demo.duckdb"))
    policy_path(store).write_text('display = "us"\n', encoding="utf-8")
    with displayed("metric"):
        assert "/ft" in dashboard.page(store, "prices", OWNER, {}).answer


def _served() -> None:
    from analytics.render.dashboard import main  # noqa: PLC0415 - run as a script of its own

    main()


def test_a_policy_that_cannot_be_read_any_more_is_said_on_the_page(
    demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Path(shutil.copy(demo_store, tmp_path / "demo.duckdb"))
    policy_path(store).write_text("[thresholds]\nwide_mm = 60\n", encoding="utf-8")
    monkeypatch.setenv(STORE_VARIABLE, str(store))
    app = AppTest.from_function(_served, default_timeout=PATIENCE_SECONDS).run()
    assert not app.exception
    said = "\n".join(element.proto.body for element in app.get("html"))
    assert "demo.policy.toml: thresholds.wide_mm = 60 must be a number from 0.5 to 15 (mm)" in said


@pytest.fixture
def ahead(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path, Role], list[str]]:
    """The pages that are worked out ahead for a role."""

    def shown(store: Path, role: Role) -> list[str]:
        given: list[str] = []
        monkeypatch.setattr(dashboard, "run", lambda *_, ahead: given.extend(each.path for each in ahead))
        dashboard._show(store, Person(role, "somebody"))
        return given

    return shown


def test_pages_of_a_small_store_are_worked_out_ahead_and_none_that_is_closed(
    demo_store: Path, ahead: Callable[[Path, Role], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "records" in ahead(demo_store, OWNER)
    assert "crews" in ahead(demo_store, "owner")
    assert "records" not in ahead(demo_store, "viewer")
    monkeypatch.setattr(dashboard, "MOST_AHEAD_BYTES", 0)
    assert ahead(demo_store, OWNER) == []


def test_no_page_is_worked_out_ahead_that_would_fit_a_model(
    demo_store: Path, tmp_path: Path, ahead: Callable[[Path, Role], list[str]]
) -> None:
    store = tmp_path / "copy.duckdb"
    shutil.copyfile(demo_store, store)
    assert ahead(store, OWNER)
    with Store(store).change() as connection:
        connection.execute("delete from models")
    assert ahead(store, OWNER) == []


def test_a_server_works_the_first_page_out_only_where_it_need_not_fit_a_model(
    demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built: list[str] = []
    monkeypatch.setattr(dashboard, "page", lambda _, path, *__: built.append(path))
    monkeypatch.setenv(STORE_VARIABLE, str(demo_store))
    dashboard.work_ahead()
    assert built == [next(iter(PAGES))]
    store = Path(shutil.copy(demo_store, tmp_path / "copy.duckdb"))
    with Store(store).change() as connection:
        connection.execute("delete from models")
    monkeypatch.setenv(STORE_VARIABLE, str(store))
    dashboard.work_ahead()
    assert len(built) == 1
