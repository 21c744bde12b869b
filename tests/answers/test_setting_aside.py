"""A rejected row that is in no file any more: off the list, kept in the store, told in the trail, taken back."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers import keeping, mending
from analytics.answers.last_entry import last_entry, take_back
from analytics.answers.loading import Loaded, load, rejects
from analytics.answers.not_recorded import RefusedError
from analytics.answers.records import Records
from analytics.answers.setting_aside import set_aside, waiting_rows
from analytics.answers.standing import Person, asking
from analytics.contract.roles import ROLES
from analytics.errors import NotAllowedError
from analytics.pages import holdings, rejected
from analytics.pages.form import Form
from analytics.pages.offers import offers
from analytics.store import Store
from tests.histories import DONE_JOB, TODAY

Loader = Callable[..., Loaded]
A1, A2, A3 = ({**DONE_JOB, "job_id": name} for name in ("A-1", "A-2", "A-3"))
FAULTY = {**A2, "done_on": "2024-13-12"}
NAMELESS = {**A2, "job_id": "the job at the corner"}
RATE = {"effective_on": "2024-01-01", "item": "port_each", "amount": "dear", "currency": "USD"}


def names(store: Path) -> list[str]:
    return [str(row) for row in waiting_rows(rejects(Records.of(store)))]


@pytest.mark.parametrize(
    ("table", "sound", "faulty", "name"),
    [
        ("jobs", A1, FAULTY, "row 3 of jobs.csv (job A-2)"),
        ("jobs", A1, NAMELESS, "row 3 of jobs.csv (job)"),
        ("rates", {**RATE, "item": "seal_kg", "amount": 9}, RATE, "row 3 of rates.csv (rate 2024-01-01 port_each)"),
    ],
)
def test_it_leaves_the_list_is_told_and_can_be_taken_back(
    load_tables: Loader, store_path: Path, table: str, sound: dict[str, object], faulty: dict[str, object], name: str
) -> None:
    load_tables({table: [sound, faulty]})
    assert names(store_path) == [name]
    held = Records.of(store_path).ask("records").rows()
    said = str(set_aside(store_path, name))
    assert said.startswith(f"Recorded: {name} is taken off the list. It is load 2; it can be taken back under")
    assert names(store_path) == []
    assert mending.waiting(Records.of(store_path)).is_empty()
    assert Records.of(store_path).ask("records").rows() == held
    assert Store(store_path).frame("select count(*) from load_rejects").item() == 1  # nothing is lost
    trail = keeping.history(Records.of(store_path)).trail.sort("number")
    assert json.loads(trail["details"][-1])["files"][0][:2] == [table, f"by hand: {name} taken off the list"]
    assert keeping.check(store_path).found.is_sound
    entry = last_entry(Records.of(store_path))
    assert entry is not None
    assert take_back(store_path, entry) == f"Taken back: {name} taken off the list. It waits again."
    assert names(store_path) == [name]
    assert keeping.check(store_path).found.is_sound


def test_only_that_row_leaves_and_it_waits_again_once_it_is_read_again(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY, {**A3, "done_on": "2024-13-12"}]})
    first, second = names(store_path)
    set_aside(store_path, first)
    assert names(store_path) == [second]
    load_tables({"jobs": [A1, FAULTY]}, "again")
    assert set(names(store_path)) == {"row 3 of jobs.csv (job A-2)", second}
    load_tables({"jobs": [A1, A2]}, "mended")
    assert names(store_path) == [second]


def test_a_list_written_before_leaves_it_as_it_is(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    path = store_path.with_name("to-mend.csv")
    mending.write_work_list(Records.of(store_path), path, "csv")
    set_aside(store_path, names(store_path)[0])
    path.write_text(path.read_text().rstrip("\n") + "2024-01-12\n")
    assert load(store_path, [path], today=TODAY).tables["jobs"].unchanged == 1
    assert names(store_path) == []


def test_a_row_that_waits_no_longer_is_refused(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    [name] = names(store_path)
    set_aside(store_path, name)
    before = store_path.read_bytes()
    for gone in (name, "row 4 of jobs.csv (job A-9)", ""):
        with pytest.raises(RefusedError, match="that row waits no longer"):
            set_aside(store_path, gone)
    assert store_path.read_bytes() == before


def test_who_may_load_may_do_it(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    [name] = names(store_path)
    for role in reversed(ROLES):
        with asking(Person(role)):
            if role in {"owner", "lead"}:
                set_aside(store_path, name)
                break
            with pytest.raises(NotAllowedError, match="may not load files"):
                set_aside(store_path, name)


def test_the_page_of_records_offers_it_while_a_row_waits(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    [form] = offers(holdings.build(Records.of(store_path), {}).parts)
    assert isinstance(form, Form)
    [which] = form.fields
    assert list(which.options) == names(store_path) == [which.default]
    form.submit({"row": which.default})
    after = Records.of(store_path)
    assert list(offers(holdings.build(after, {}).parts)) == []
    assert "no row waits to be mended" in holdings.build(after, {}).answer
    assert rejected.build(rejects(after)).answer == "No rejected row waits."
