"""The privacy report and the extract, on stores loaded like any business's; files are searched as bytes."""

import errno
import json
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.extracting import share
from analytics.answers.loading import Loaded, load
from analytics.answers.measuring import measure
from analytics.answers.privacy import privacy
from analytics.answers.records import Records
from analytics.errors import CannotWriteError, LeakbackError
from analytics.intake import private_path
from analytics.pages import privacy as page
from analytics.render.extract_files import write
from tests.histories import DONE_JOB

Loader = Callable[..., Loaded]


def test_the_report_counts_codes_names_dropped_columns_and_lists_no_one(load_tables: Loader, store_path: Path) -> None:
    job = {**DONE_JOB, "site_id": "17 Invented Lane", "crew_id": "Robin Example", "customer": "Dana Nobody"}
    load_tables({"jobs": [job, {**job, "job_id": "J-2", "site_id": "S-2", "crew_id": "C07"}]})
    answer: Any = privacy(Records.of(store_path)).answer()
    assert answer["codes"] | {"private_file": ""} == {"sites": 2, "crews": 2, "crews_by_name": 1, "private_file": ""}
    assert answer["dropped"] == [{"batch": 1, "columns": ["customer"]}]
    kept = {(row["table"], row["column"]): row["kept_as"] for row in answer["rows"]}
    assert kept["jobs", "site_id"] == "a keyed code, whatever was written"
    assert kept["cracks", "length_m"] == "as given"
    said = json.dumps(answer, default=str)
    for word in ("Invented", "Robin", "Dana", "C07"):
        assert word not in said


def test_a_small_crew_is_a_small_group_too(load_tables: Loader, store_path: Path) -> None:
    jobs = [{**DONE_JOB, "job_id": f"J-{site}", "site_id": f"S-{site}", "crew_id": f"C0{site}"} for site in (1, 2)]
    load_tables({"jobs": jobs})
    found = privacy(Records.of(store_path), 2)
    assert found.groups[0].under == 0
    said = "2 of 3 groups that an outsider could tell apart hold fewer than 2 sites"
    assert page.build(found).answer.startswith(said)


def test_names_of_dropped_columns_are_kept_with_the_key_and_not_in_the_store(
    load_tables: Loader, store_path: Path
) -> None:
    load_tables({"jobs": [{**DONE_JOB, "hours of Robin Example": 3}]})
    assert b"robin example" in private_path(store_path).read_bytes().lower()
    assert b"robin example" not in store_path.read_bytes().lower()


def test_where_the_private_file_cannot_be_written_nothing_is_loaded_or_the_load_is_said_to_be_done(
    load_tables: Loader, store_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def full(**_: object) -> object:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    jobs = {"jobs": [{**DONE_JOB, "colour": "red"}]}
    with monkeypatch.context() as patched:
        patched.setattr(tempfile, "mkstemp", full)
        with pytest.raises(CannotWriteError, match="nothing was loaded"):
            load_tables(jobs)
    assert not store_path.exists()
    load_tables({"jobs": [DONE_JOB]})
    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert load_tables({"jobs": [{**DONE_JOB, "job_id": "J-2", "colour": "red"}]}).dropped_columns == ("colour",)
    assert Records.of(store_path).store.frame("select count(*) n from jobs").item() == 2
    assert "the load is done, but the columns it dropped could not be noted" in caplog.text
    assert "nothing was loaded" not in caplog.text


def test_a_lost_key_is_said_and_the_rest_is_still_reported(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    private_path(store_path).unlink()
    found = privacy(Records.of(store_path))
    assert found.codes.crews_by_name is None
    assert "put it back" in found.codes.private_file
    assert found.jobs_left_out is None
    assert found.groups[0].under == 1


def test_the_demos_extract_hides_every_group_and_its_report_says_what_was_small(demo_store: Path) -> None:
    found = privacy(Records.of(demo_store), k=5)
    assert found.groups[0].under > 0
    assert found.groups[0].smallest == 1
    assert all(group.under == 0 for group in found.shared)
    assert [group.by for group in found.groups] == [group.by for group in found.shared]


def test_the_extract_holds_nothing_that_names_the_business(demo_store: Path, tmp_path: Path) -> None:
    records = Records.of(demo_store)
    files = write(share(records, 5), tmp_path / "share")
    whole = b"".join(path.read_bytes() for path in files)
    frame = records.store.frame
    old = [
        *frame("select distinct site_id from jobs where site_id is not null")["site_id"],
        *frame("select distinct branch from jobs where branch is not null")["branch"],
        *frame("select distinct reference from reviews where reference is not null")["reference"],
        *frame("select distinct crew_id from jobs where crew_id is not null")["crew_id"],
    ]
    assert len(old) > 4000
    assert not [code for code in old if code.encode() in whole]
    key = json.loads(private_path(demo_store).read_text())["key"]
    assert key.encode() not in whole


def test_the_extract_loads_again_and_its_rates_are_near_the_records(demo_store: Path, tmp_path: Path) -> None:
    records = Records.of(demo_store)
    made = share(records, 5)
    write(made, tmp_path / "share")
    done = load(tmp_path / "again.duckdb", [tmp_path / "share"], strict=True)
    assert {name: count.loaded for name, count in done.tables.items()} == {
        name: rows.height for name, rows in made.extract.tables.items()
    }
    for by in ("season", "resin"):
        first, again = (
            {row[by]: row["value"] for row in measure(asked, "leak_back_rate", [by]).rows.to_dicts()}
            for asked in (records, Records.of(tmp_path / "again.duckdb"))
        )
        assert first.keys() == again.keys()
        assert all(abs(first[name] - again[name]) < 0.01 for name in first)


def test_nothing_is_overwritten(demo_store: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(LeakbackError, match="is not empty"):
        write(share(Records.of(demo_store), 5), tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_group_of_one_is_no_group(demo_store: Path) -> None:
    with pytest.raises(LeakbackError, match="at least 2 sites"):
        share(Records.of(demo_store), 1)
