"""Whatever a file holds besides the contract's columns is nowhere afterwards: names, numbers, mails, addresses."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from analytics.answers import loading, mapping, mending
from analytics.answers.records import Records
from analytics.cli import run
from analytics.intake import parse_map, private_path
from tests.histories import TODAY
from tests.intake.brought import Rows, csv_bytes, workbook
from tests.intake.case import CRACK_HEAD, HEAD

NAMES = ["Robin Example", "Kim Sample", "Alex Placeholder"]
NUMBERS = ["555-0100", "(202) 555-0143", "2025550143", "+1 202 555 0199"]
OTHERS = ["17 Invented Lane", "robin@example.org", "ring before noon, dog in the yard"]
SECRETS = [*NAMES, *NUMBERS, *OTHERS, "Robin", "Placeholder", "Invented Lane"]
JOBS: Rows = [
    [*HEAD, "site_id", "branch", "phone", "notes"],
    ["J-1", "Robin Example", "done", "2024-01-15", 780, "17 Invented Lane", "North", "555-0100", OTHERS[2]],
    ["J-2", "C2", "done", "Kim Sample", "(202) 555-0143", "S-2", "robin@example.org", "2025550143", "Alex Placeholder"],
    ["Robin Example", "C2", "Kim Sample", "2024-01-15", "2025550143", "S-3", "+1 202 555 0199", "", ""],
    ["J-4", "C2", "done", "2024-01-15"],
]
CRACKS: Rows = [
    [*CRACK_HEAD, "customer"],
    ["K-1", "J-1", "555-0100", "2025550143", "Robin Example", "Kim Sample"],
    ["K-2", "Alex Placeholder", 2, "17 Invented Lane", "epoxy", ""],
    ["K-3", "J-1", "Robin", "robin@example.org", "urethane foam", "555-0100"],
]
MAP = """
version = 1
[jobs.columns]
job_id = { header = "Customer", keyed = true }
crew_id = "Foreman"
status = { constant = "done" }
done_on = "Date"
site_id = "Customer"
"""
OWN: Rows = [["Customer", "Foreman", "Date", "Phone"], ["Robin Example", "Kim Sample", "2024-01-15", "555-0100"],
       ["Alex Placeholder", "C1", "+1 202 555 0199", "2025550143"]]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that holds everything the program writes: the store, its backups, its log, its temporary files."""
    kept = tmp_path / "kept"
    for name in ("tmp", "state", "home"):
        (kept / name).mkdir(parents=True)
    monkeypatch.setenv("TMPDIR", str(kept / "tmp"))
    monkeypatch.setenv("XDG_STATE_HOME", str(kept / "state"))
    monkeypatch.setenv("HOME", str(kept / "home"))
    return kept


def written(folder: Path, store: Path) -> Iterator[tuple[str, bytes]]:
    """Every file in the folder but the private one, and every text in the store, as bytes."""
    for path in folder.rglob("*"):
        if path.is_file() and "private" not in path.name:
            yield path.name, path.read_bytes()
    opened = Records.of(store).store
    tables = opened.frame("select table_name from information_schema.tables")["table_name"]
    for table in tables:
        yield table, opened.frame(f'select * from "{table}"').write_json().encode()


def test_nothing_private_is_left_anywhere(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store, files = folder / "store.duckdb", tmp_path / "files"
    files.mkdir()
    (files / "jobs.csv").write_bytes(csv_bytes(JOBS))
    (files / "cracks.csv").write_bytes(csv_bytes(CRACKS))
    (tmp_path / "work.xlsx").write_bytes(workbook(jobs=JOBS[:4], cracks=CRACKS))
    (tmp_path / "own.csv").write_bytes(csv_bytes(OWN))
    loading.load(store, [files], today=TODAY)
    loading.load(store, [tmp_path / "work.xlsx"], today=TODAY)
    loading.load(store, [tmp_path / "own.csv"], column_map=parse_map(MAP), today=TODAY)
    mapping.write_map(folder / "map.toml", mapping.propose_files([tmp_path / "own.csv"]).text)
    mending.write_work_list(Records.of(store), folder / "to-mend.csv", "csv")
    mending.write_work_list(Records.of(store), folder / "to-mend.xlsx", "xlsx")
    for command in ("rejects", "warnings"):
        for form in ("text", "json"):
            assert run([command, "--store", str(store), "--format", form]) == 0
    said = capsys.readouterr()
    places = [*written(folder, store), ("terminal", (said.out + said.err).encode())]
    assert len(places) > 20
    for secret in SECRETS:
        for encoding in ("utf-8", "utf-16-le"):
            found = [place for place, content in places if secret.encode(encoding) in content]
            assert not found, (secret, found)


def test_a_persons_name_is_in_the_private_file_only(folder: Path, tmp_path: Path) -> None:
    store = folder / "store.duckdb"
    (tmp_path / "jobs.csv").write_bytes(csv_bytes(JOBS))
    loading.load(store, [tmp_path / "jobs.csv"], today=TODAY)
    kept = private_path(store).read_text(encoding="utf-8")
    assert "Robin Example" in kept
    assert not any(secret in kept for secret in (*NUMBERS, "17 Invented Lane", "robin@example.org"))


def test_a_key_that_is_a_name_becomes_the_same_code_everywhere(folder: Path, tmp_path: Path) -> None:
    store = folder / "store.duckdb"
    (tmp_path / "own.csv").write_bytes(csv_bytes(OWN))
    calls: Rows = [["call", "Customer", "on"], ["B-1", "robin  EXAMPLE", "2024-05-01"]]
    (tmp_path / "calls.csv").write_bytes(csv_bytes(calls))
    both = parse_map(
        MAP.replace("[jobs.columns]", '[jobs]\nfrom = "own"\n[jobs.columns]')
        + '[callbacks]\nfrom = "calls"\n[callbacks.columns]\ncallback_id = "call"\nreported_on = "on"\n'
        'job_id = { header = "Customer", keyed = true }\n'
    )
    done = loading.load(store, [tmp_path / "own.csv", tmp_path / "calls.csv"], column_map=both, today=TODAY)
    assert (done.tables["jobs"].loaded, done.tables["callbacks"].loaded) == (1, 1)
    codes = Records.of(store).store.frame("select job_id from callbacks")["job_id"].to_list()
    assert codes[0].startswith("job-")
