"""The audit trail: every change is told, and an edit or a deletion inside it is found."""

import json
import re
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from analytics.answers import keeping, loading
from analytics.answers.acting import acting, person_code
from analytics.answers.loading import Loaded, undo
from analytics.answers.records import Records, policy_path
from analytics.answers.standing import Person, asking
from analytics.intake import private_path
from analytics.store import Store, auditing
from analytics.store.auditing import Act
from analytics.store.checking import check
from analytics.store.committing import keep_model
from tests.histories import CRACK, DONE_JOB, TODAY, write_tables

Load = Callable[..., Loaded]


def told(store: Path) -> list[tuple[str, int | None]]:
    return [(what, load) for what, load in Store(store).frame("select what, load from audit order by number").rows()]


def test_loads_undos_and_fits_are_told(load_tables: Load, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    records = Records.of(store_path)
    assert records.ask.state is not None
    keep_model(
        records.store, "{}", state=records.ask.state, hemisphere="north", act=Act(datetime.fromisoformat("2026-01-01"))
    )
    undo(store_path)
    assert told(store_path) == [("load", 1), ("fit", 1), ("undo", 1)]
    assert check(Store(store_path)).faults == ()


def test_a_load_that_was_taken_back_never_lends_its_number(load_tables: Load, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    undo(store_path)
    assert load_tables({"jobs": [DONE_JOB]}, "again").batch == 2


def test_a_changed_policy_is_told_once_and_by_its_hash(load_tables: Load, store_path: Path) -> None:
    policy_path(store_path).write_text('hemisphere = "south"\n')
    load_tables({"jobs": [DONE_JOB]})
    load_tables({"jobs": [DONE_JOB]}, "again")
    policy_path(store_path).unlink()
    load_tables({"jobs": [DONE_JOB]}, "later")
    assert told(store_path) == [("policy", None), ("load", 1), ("load", 2), ("policy", None), ("load", 3)]
    details = Store(store_path).frame("select details from audit where what = 'policy' order by number")["details"]
    sha256 = "9370cb4ed1fe38237c6fd13933c1a5142f9491a07632f11a20870c1c28a33093"  # sha256sum of that line
    assert [json.loads(text)["sha256"] for text in details] == [sha256, None]


def test_a_policy_whose_entry_cannot_be_read_is_told_again(load_tables: Load, store_path: Path) -> None:
    policy_path(store_path).write_text('hemisphere = "south"\n')
    load_tables({"jobs": [DONE_JOB]})
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute("update audit set details = '{' where what = 'policy'")
    load_tables({"jobs": [DONE_JOB]}, "again")
    assert told(store_path) == [("policy", None), ("load", 1), ("policy", None), ("load", 2)]


@pytest.mark.parametrize("wanted", [True, False])
def test_names_are_kept_only_where_the_business_wants_them(
    load_tables: Load, store_path: Path, monkeypatch: pytest.MonkeyPatch, wanted: bool
) -> None:
    monkeypatch.setattr("getpass.getuser", lambda: "somebody")
    policy_path(store_path).write_text(f"[keeping]\nuser_names = {str(wanted).lower()}\n")
    load_tables({"jobs": [DONE_JOB]})
    named = Store(store_path).frame("select distinct by_whom from audit")["by_whom"].to_list()
    assert named == (["somebody"] if wanted else [None])


def test_a_clock_that_was_turned_back_orders_nothing(
    tmp_path: Path, store_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = iter(map(datetime.fromisoformat, ["2026-05-01T12:00", "2019-01-01", "2019-01-02"]))
    monkeypatch.setattr(loading, "acting", lambda _: Act(next(clock)))
    for crew in ("C01", "C02"):
        folder = write_tables(tmp_path / crew, {"jobs": [{**DONE_JOB, "crew_id": crew}], "cracks": [CRACK]})
        loading.load(store_path, [folder], today=TODAY)
    assert Records.of(store_path).ask("follow_up")["crew_id"].to_list() == ["C02"]
    assert undo(store_path).batch == 2
    assert Records.of(store_path).ask("follow_up")["crew_id"].to_list() == ["C01"]
    assert check(Store(store_path)).faults == ()


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ("update audit set details = '{}' where number = 2", "entry 2 .* was changed"),
        ("update audit set by_whom = 'nobody' where number = 1", "entry 1 .* was changed"),
        ("update audit set acted_at = acted_at + interval 1 day where number = 2", "entry 2 .* was changed"),
        ("delete from audit where number = 2", "entry 2 of the audit trail is missing"),
        ("delete from audit where number = 3", "load 3 is in the store and not in the audit trail"),
        ("delete from audit", "load 1 is in the store and not in the audit trail"),
    ],
)
def test_an_edit_or_a_deletion_in_the_trail_is_found(load_tables: Load, store_path: Path, edit: str, says: str) -> None:
    for number in range(3):
        load_tables({"jobs": [{**DONE_JOB, "price_charged": number}]}, str(number))
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute(edit)
    said = [fault.said for fault in check(Store(store_path)).faults]
    assert any(re.search(says, sentence) for sentence in said), said


def test_a_rewritten_link_breaks_the_next_one(load_tables: Load, store_path: Path) -> None:
    for number in range(2):
        load_tables({"jobs": [{**DONE_JOB, "price_charged": number}]}, str(number))
    with Store(store_path).connect() as connection:
        first, second = auditing.entries(connection)
    forged = first._replace(by_whom="nobody")
    forged = forged._replace(hash=forged.computed_hash())
    assert list(auditing.broken_links([first, second])) == []
    assert list(auditing.broken_links([forged])) == []  # whole in itself, as the notes say
    assert list(auditing.broken_links([forged, second])) == [
        "entry 2 of the audit trail (load) was changed after it was written"
    ]


def test_the_history_shows_every_change_the_last_first(load_tables: Load, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    undo(store_path)
    answer = keeping.history(Records.of(store_path)).answer()
    rows = answer["rows"]
    assert isinstance(rows, list)
    assert [(row["what"], row["load"]) for row in rows] == [("undo", 1), ("load", 1)]
    assert answer["head"] == rows[0]["hash"]
    assert answer["loads"] == []


def test_who_signed_in_is_kept_as_a_role_and_a_code_and_never_by_name(load_tables: Load, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    anna = Person("lead", "anna@example.org")
    with asking(anna):
        undo(store_path)
        load_tables({"jobs": [DONE_JOB]}, "again")
    by_whom = Store(store_path).frame("select by_whom from audit order by number")["by_whom"].to_list()
    assert by_whom == [None, *[f"lead {person_code(store_path, 'Anna@Example.org')}"] * 2]
    assert person_code(store_path, "bo@example.org") not in by_whom[1]
    assert b"anna" not in store_path.read_bytes()
    assert "anna" not in private_path(store_path).read_text()


def test_a_role_alone_is_kept_where_the_key_is_not_here(tmp_path: Path) -> None:
    with asking(Person("owner", "anna@example.org")):
        assert acting(tmp_path / "none.duckdb").by_whom == "owner"
