"""A store that does not hold what was written to it is found out, whatever was done to it."""

import hashlib
import math
import random
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date
from itertools import product
from pathlib import Path

import duckdb
import pytest

from analytics.answers import keeping
from analytics.cli import run
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.store import Store
from analytics.store.checking import check
from analytics.store.schema import table_sql
from analytics.store.summing import SHORT, rows_sum_sql, sign, sum_sql
from tests.store.acts import held, load
from tests.store.made import asked, made_store, older_store

CORRUPTIONS = asked("LEAKBACK_CORRUPTIONS", 40)
BLOCK = 262_144
"""The engine's own."""
HEADERS = 12_288


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """A store with two loads, replaced rows and a rejected one."""
    made = made_store(tmp_path)
    load(made)
    return made


def test_a_store_as_it_was_written_is_sound(store: Path) -> None:
    found = check(Store(store))
    assert found.faults == ()
    assert (found.loads, found.rows["jobs"], found.entries) == (2, 600, 2)


def test_a_rows_sum_is_the_lower_halves_of_the_digests_of_its_filled_cells() -> None:
    """The form is kept in stores: worked out here by Python's own MD5."""
    rows = [("a", 1.5, None), ("é", None, True), ("", 1e-7, False)]
    texts = ["k=a\x1fn=1.5", "b=true\x1fk=é", "b=false\x1fk=\x1fn=1e-07"]
    with duckdb.connect(":memory:") as connection:
        connection.execute("create table t (k varchar, n double, b boolean)")
        connection.executemany("insert into t values (?, ?, ?)", rows)
        [(found,)] = connection.execute(f"select {sum_sql('knb', 'k')} from t").fetchall()
        [(nothing,)] = connection.execute(f"select {sum_sql('knb', 'k')} from t where false").fetchall()
    assert (found, nothing) == (_sum(texts), 0)


MEASURED = {
    0.0: "0", 0.2: "200", 3.175: "3175", 203.2: "203200", -5.5: "-5500", 0.1 + 0.2: "0.30000000000000004",
    math.nextafter(0.135, 1): "0.13500000000000004", 0.79375: "0.79375", 1e-7: "1e-07", 1e15: "1000000000000000.0",
    999_999_999_999.5: "999999999999500",
}  # fmt: skip


def test_a_tables_rows_are_summed_with_measurements_in_thousandths_where_they_are_whole() -> None:
    """The form is kept in stores: worked out here by Python's own MD5 and CRC-32."""
    texts = [
        f"\x1f{sign('crack_id')}K\x1f{sign('job_id')}J\x1f{sign('loaded_in')}7\x1f{sign('width_mm')}{text}"
        for text in MEASURED.values()
    ]
    texts.append(f"\x1f{sign('cleaned')}true\x1f{sign('crack_id')}K\x1f{sign('job_id')}J\x1f{sign('loaded_in')}7")
    with duckdb.connect(":memory:") as connection:
        connection.execute(table_sql("cracks"))
        put = "insert into cracks_rows (crack_id, job_id, loaded_in, width_mm, cleaned) values ('K', 'J', 7, ?, ?)"
        connection.executemany(put, [*((width, None) for width in MEASURED), (None, True)])
        [(found,)] = connection.execute(f"select {rows_sum_sql('cracks', SHORT)} from cracks_rows").fetchall()
    assert (sign("crack_id"), sign("width_mm")) == ("471", "bfb")
    assert found == _sum(texts)


def test_the_signs_of_a_tables_columns_differ() -> None:
    for name, schema in TABLES.items():
        columns = [*schema.columns(), "loaded_in"]
        assert len(set(map(sign, columns))) == len(columns), name


def _sum(texts: Iterable[str]) -> int:
    digests = (hashlib.md5(text.encode(), usedforsecurity=False).digest() for text in texts)
    return sum(int.from_bytes(digest[8:], "little") for digest in digests)


@pytest.mark.parametrize("filled", ["a", "b", "c", "d", "ad", "bc", "cd", "abcd"])
def test_a_rows_sum_is_the_same_whichever_of_its_columns_are_never_empty(filled: str) -> None:
    kinds: dict[str, list[object]] = {
        "a": [1, 2, None],
        "b": ["x", "", None],
        "c": [0.1, 1e300, None],
        "d": [date(2026, 3, 1), None],
    }
    cells = [[cell for cell in cells if not (name in filled and cell is None)] for name, cells in kinds.items()]
    rows = list(product(*cells))
    said = [[f"{name}={cell}" for name, cell in zip(kinds, row, strict=True) if cell is not None] for row in rows]
    with duckdb.connect(":memory:") as connection:
        connection.execute("create table t (d date, b varchar, a integer, c double)")
        connection.executemany("insert into t (a, b, c, d) values (?, ?, ?, ?)", rows)
        [(found,)] = connection.execute(f"select {sum_sql('dbac', filled)} from t").fetchall()
    assert found == _sum("\x1f".join(cells) for cells in said)


@pytest.mark.parametrize(
    ("edit", "part", "says"),
    [
        ("update jobs_rows set price_charged = 5 where job_id = 'J-200'", "sums", "rows of jobs that load 1"),
        ("update jobs_rows set price_charged = 5 where job_id = 'J-2' and replaced_in = 2", "sums", "load 2 replaced"),
        ("update cracks_rows set width_mm = null where crack_id = 'K-9'", "sums", "rows of cracks that load 1"),
        ("delete from callbacks_rows where callback_id = 'B-20'", "ledger", "load 1 brought 30 rows of callbacks; 29"),
        ("insert into jobs_rows select * from jobs_rows where job_id = 'N-1'", "keys", "1 keys of jobs are"),
        ("update jobs_rows set replaced_in = null where job_id = 'J-3'", "ledger", "load 2 replaced 150 rows"),
        ("update jobs_rows set loaded_in = 9 where job_id = 'N-3'", "ledger", "load 9 brought 0 rows of jobs; 1"),
        ("delete from jobs_rows where job_id = 'J-250'", "references", "1 rows of cracks name a job_id"),
        ("update load_tables set loaded = loaded + 1 where batch = 2", "ledger", "what load 2 wrote down about itself"),
        ("update load_sums set brought_sum = 0 where batch = 2", "ledger", "what load 2 wrote down about itself"),
        ("update load_files set sha256 = 'x'", "ledger", "what load 1 wrote down about itself"),
        ("delete from load_rejects", "ledger", "what load 2 wrote down about itself"),
        ("delete from loads where batch = 1", "ledger", "load 1 is in the audit trail and not in the store"),
        ("insert into models values (9, 2, 'north', now()::timestamp, '{}')", "models", "risk model 9"),
        ("drop table load_sums", "tables", "load_sums"),
        ("create table extra (i integer)", "tables", "extra i: not one of ours"),
        ("create or replace view rates as select * exclude (loaded_in) from rates_rows", "tables", "rates"),
    ],
)  # fmt: skip
def test_an_edit_past_the_door_is_found(store: Path, edit: str, part: str, says: str) -> None:
    with Store(store).connect(read_only=False) as connection:
        connection.execute(edit)
    faults = [(fault.part, fault.said) for fault in check(Store(store)).faults]
    assert any(found == part and says in said for found, said in faults), faults


UNREADABLE = ("{", "[]", "", '"load"', "[" * 100_000, "9" * 5_000)
NO_UPGRADE = ('{"loads":3,"models":[]}', '{"loads":{"one":{}},"models":[]}', '{"loads":{},"models":3}')


@pytest.mark.parametrize("details", UNREADABLE)
def test_an_entry_that_cannot_be_read_is_a_fault_and_all_else_is_checked(store: Path, details: str) -> None:
    with Store(store).connect(read_only=False) as connection:
        connection.execute("update audit set details = ? where number = 1", [details])
        connection.execute("update jobs_rows set price_charged = 5 where job_id = 'N-3'")
        connection.execute("update load_sums set brought_sum = 0 where batch = 2")
    found = check(Store(store))
    said = {(fault.part, fault.said) for fault in found.faults}
    assert said >= {
        ("audit", "what entry 1 of the audit trail (load) tells cannot be read"),
        ("audit", "entry 1 of the audit trail (load) was changed after it was written"),
        ("sums", "rows of jobs that load 2 brought are not as they were written"),
        ("ledger", "what load 2 wrote down about itself was changed"),
    }
    assert not [words for _, words in said if "load 1 is in the store" in words]
    assert (found.loads, found.entries) == (2, 2)


@pytest.mark.parametrize("details", [*UNREADABLE, *NO_UPGRADE])
def test_an_upgrade_that_cannot_be_read_is_a_fault(store_path: Path, details: str) -> None:
    keeping.upgrade(older_store(store_path))
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute("update audit set details = ?", [details])
    said = [fault.said for fault in check(Store(store_path)).faults]
    assert "what entry 1 of the audit trail (upgrade) tells cannot be read" in said


def test_a_check_says_what_to_do_and_exits_with_1(store: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--store", str(store)]) == 0
    with Store(store).connect(read_only=False) as connection:
        connection.execute("update jobs_rows set branch = 'x' where job_id = 'N-3'")
    assert run(["check", "--store", str(store)]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "is not sound: 1 thing does not hold" in said
    assert "leakback restore" in said


def test_a_lost_private_file_is_said_by_the_check(store: Path) -> None:
    store.with_name("store.private.json").unlink()
    inspected = keeping.check(store)
    assert inspected.found.is_sound
    assert "put it back" in inspected.private_file


def flip(content: bytearray, draw: random.Random) -> None:
    content[draw.randrange(len(content))] ^= 1 << draw.randrange(8)


def flip_in_headers(content: bytearray, draw: random.Random) -> None:
    content[draw.randrange(HEADERS)] ^= 1 << draw.randrange(8)


def cut(content: bytearray, draw: random.Random) -> None:
    del content[draw.randrange(len(content)) :]


def blank(content: bytearray, draw: random.Random) -> None:
    start = draw.randrange(len(content))
    length = min(draw.randrange(1, 65_536), len(content) - start)
    content[start : start + length] = bytes(length)


def scramble(content: bytearray, draw: random.Random) -> None:
    start = draw.randrange(len(content))
    length = min(draw.randrange(1, 4096), len(content) - start)
    content[start : start + length] = draw.randbytes(length)


def swap_blocks(content: bytearray, draw: random.Random) -> None:
    count = (len(content) - HEADERS) // BLOCK
    one, other = (HEADERS + draw.randrange(count) * BLOCK for _ in range(2))
    first, second = content[one : one + BLOCK], content[other : other + BLOCK]
    content[one : one + BLOCK], content[other : other + BLOCK] = second, first


HARMS: tuple[Callable[[bytearray, random.Random], None], ...] = (
    flip,
    flip_in_headers,
    cut,
    blank,
    scramble,
    swap_blocks,
)


def everything(path: Path) -> object:
    """All rows in force as the questions see them, or the error's name where there is one."""
    store = Store(path)
    try:
        with store.reading():
            return [store.frame(f"select * from {name} order by all").rows() for name in TABLES]
    except (LeakbackError, duckdb.Error) as error:
        return type(error).__name__


def test_a_corrupted_store_is_found_out_or_unharmed(
    store: Path, record_property: Callable[[str, object], None]
) -> None:
    sound, answers = store.read_bytes(), everything(store)
    state = held(store)
    draw = random.Random(7)  # noqa: S311 (places to harm)
    outcomes: Counter[str] = Counter()
    for number in range(CORRUPTIONS):
        harm = HARMS[number % len(HARMS)]
        content = bytearray(sound)
        harm(content, draw)
        harmed = store.with_name("harmed.duckdb")
        harmed.write_bytes(content)
        read, found = everything(harmed), check(Store(harmed))
        unharmed = found.is_sound and read == answers and held(harmed) == state
        wrong = isinstance(read, list) and read != answers
        assert unharmed or not found.is_sound, f"{harm.__name__} {number}: neither found nor harmless"
        outcomes[f"{harm.__name__}: {'harmless' if unharmed else 'found'}"] += 1
        outcomes["a question answered wrongly before a check"] += wrong
    record_property("corruptions", dict(outcomes))
    assert outcomes["a question answered wrongly before a check"] == 0, dict(outcomes)


def test_a_log_that_was_cut_or_harmed_leaves_a_load_that_was_whole(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    log = store.with_name("store.duckdb.wal")
    before, sound = everything(store), store.read_bytes()
    with duckdb.connect(str(store)) as connection:
        connection.execute("set wal_autocheckpoint = '1GB'")
        connection.execute("insert into jobs_rows (job_id, status, loaded_in) values ('X', 'lost', 1)")
        content = log.read_bytes()
    assert content
    after = everything(store)
    draw = random.Random(3)  # noqa: S311 (places to harm)
    for number in range(12):
        harmed = bytearray(content)
        (flip, cut)[number % 2](harmed, draw)
        store.write_bytes(sound)
        log.write_bytes(harmed)
        assert everything(store) in ("DamagedStoreError", before, after)
    log.unlink()
