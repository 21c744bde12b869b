"""Backup, restore, check, upgrade and history as a person or a program calls them."""

import csv
import io
import logging
from pathlib import Path
from typing import Any

import pytest

from analytics.answers import acting
from analytics.errors import RecordsMovedError
from analytics.store import Store
from analytics.store.backing_up import keep_backup
from tests.cli.calling import Call, answer
from tests.histories import DONE_JOB, write_tables


@pytest.fixture
def store(store_path: Path) -> Path:
    return store_path


def loaded(call: Call, folder: Path, crew: str = "C01") -> None:
    files = write_tables(folder / crew, {"jobs": [{**DONE_JOB, "crew_id": crew}]})
    assert call("load", str(files))[0] == 0


def test_a_backup_and_back(call: Call, tmp_path: Path) -> None:
    loaded(call, tmp_path)
    safe = tmp_path / "safe.duckdb"
    assert answer(call, "backup", str(safe))["rows"]["jobs"] == 1
    loaded(call, tmp_path, "C02")
    found = answer(call, "restore", str(safe))
    assert (found["from"], found["loads"]) == (str(safe), 1)
    assert Path(found["kept"]).is_file()
    assert answer(call, "check")["sound"]


def test_what_is_stopped_once_it_is_done_is_not_said_to_be_undone(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded(call, tmp_path)
    backups = iter([True, False])

    def stopped_afterwards(*words: Any, **more: Any) -> Path | None:
        if next(backups):
            return keep_backup(*words, **more)
        raise KeyboardInterrupt

    monkeypatch.setattr(acting, "keep_backup", stopped_afterwards)
    files = write_tables(tmp_path / "more", {"jobs": [{**DONE_JOB, "job_id": "J-2"}]})
    code, _, err = call("load", str(files))
    assert (code, err.strip()) == (1, "leakback: stopped; see what was done with: leakback history")
    assert len(answer(call, "history")["loads"]) == 2


def test_restore_without_a_file_takes_the_last_sound_backup(call: Call, tmp_path: Path, store_path: Path) -> None:
    loaded(call, tmp_path)
    store_path.write_bytes(b"")
    code, _, err = call("rejects")
    assert code == 2
    assert "`leakback restore --store" in err
    assert err.count("\n") == 1
    code, out, _ = call("restore")
    assert code == 0
    assert "is restored from" in " ".join(out.split())
    assert call("rejects")[0] == 0


def test_each_says_what_was_done_in_words(call: Call, tmp_path: Path) -> None:
    loaded(call, tmp_path)
    for words, says in (
        (["backup", str(tmp_path / "safe.duckdb")], "Keep the private file that lies beside it with it"),
        (["check"], "is sound: 1 load, 1 job"),
        (["upgrade"], "already: nothing was done"),
        (["history"], "load 1: 1 job went in"),
    ):
        code, out, err = call(*words)
        assert (code, err) == (0, "")
        assert says in " ".join(out.split())


@pytest.mark.parametrize("words", [["restore"], ["restore", "none.duckdb"], ["check"], ["upgrade"], ["history"]])
def test_where_there_is_nothing_it_is_said_in_one_line(call: Call, words: list[str], store_path: Path) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert err.startswith("leakback: no ")
    assert err.count("\n") == 1
    assert not store_path.exists()


def test_the_history_is_given_to_programs_too(call: Call, tmp_path: Path) -> None:
    loaded(call, tmp_path)
    assert call("undo")[0] == 0
    found = answer(call, "history")
    assert [row["what"] for row in found["rows"]] == ["undo", "load"]
    assert found["rows"][1]["details"]["tables"]["jobs"]["loaded"] == 1
    code, out, _ = call("history", "--format", "csv")
    assert code == 0
    assert [row["number"] for row in csv.DictReader(io.StringIO(out))] == ["2", "1"]


@pytest.mark.parametrize("details", ["{", "[]", "{}"])
def test_an_entry_that_cannot_be_read_is_shown_as_such(
    call: Call, tmp_path: Path, store_path: Path, details: str
) -> None:
    loaded(call, tmp_path)
    loaded(call, tmp_path, "C02")
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute("update audit set details = ? where number = 1", [details])
    said = " ".join(call("history")[1].split())
    assert "load: what it tells cannot be read" in said
    assert "load 2: 1 job went in" in said
    second, first = answer(call, "history")["rows"]
    assert (first["number"], first["details"]) == (1, None)
    assert second["details"]["tables"]["jobs"]["loaded"] == 1
    code, out, _ = call("check")
    assert code == 1
    assert "what entry 1 of the audit trail (load) tells cannot be read" in " ".join(out.split())


def test_a_question_is_asked_again_where_the_records_changed_meanwhile(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded(call, tmp_path)
    ask, asked = Store.frame, []

    def moved_once(store: Store, *words: Any, **more: Any) -> Any:
        asked.append(words)
        if more.get("state") is not None and len(asked) < 4:
            raise RecordsMovedError(store.path)
        return ask(store, *words, **more)

    monkeypatch.setattr(Store, "frame", moved_once)
    assert answer(call, "history")["rows"][0]["what"] == "load"
    assert len(asked) >= 4


def test_what_a_command_waits_for_is_said_on_standard_error(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded(call, tmp_path)
    notices = logging.getLogger("leakback.notices")
    require = Store.require

    def noisy(store: Store) -> None:
        notices.warning("waiting for %s", store.path.name)
        require(store)

    monkeypatch.setattr(Store, "require", noisy)
    code, _, err = call("rejects")
    assert (code, err) == (0, "leakback: waiting for store.duckdb\n")
    assert notices.handlers == []


@pytest.mark.parametrize("content", [b"x" * 20_000, b""])
def test_a_file_that_is_no_store_is_said_in_one_line(call: Call, store_path: Path, content: bytes) -> None:
    store_path.write_bytes(content)
    code, out, err = call("flags")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1


def test_a_folder_is_no_store(call: Call, store_path: Path) -> None:
    store_path.mkdir()
    code, _, err = call("flags")
    assert code == 2
    assert "directory" in err or "folder" in err
