import hashlib
import hmac
import stat
import unicodedata
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from analytics.answers.loading import Loaded
from analytics.answers.records import Records
from analytics.errors import StoreError
from analytics.intake import Keyring, private_path
from tests.histories import DONE_JOB

Loader = Callable[..., Loaded]


def crews(store_path: Path) -> list[str]:
    return Records.of(store_path).store.frame("select crew_id from jobs order by job_id")["crew_id"].to_list()


def test_sites_and_personal_crew_names_never_reach_the_store(load_tables: Loader, store_path: Path) -> None:
    jobs = [
        {**DONE_JOB, "site_id": "17 Invented Lane", "crew_id": "Robin Example"},
        {**DONE_JOB, "job_id": "J-2", "site_id": "17 invented  lane", "crew_id": "robin example"},
        {**DONE_JOB, "job_id": "J-3", "site_id": "S-3", "crew_id": "C07"},
    ]
    load_tables({"jobs": jobs})
    kept = b"".join(
        path.read_bytes()
        for path in store_path.parent.rglob("*")
        if path.is_file() and "private" not in path.name and "files" not in path.parts
    )
    for word in (b"Invented", b"invented", b"Robin", b"robin", b"S-3"):
        assert word not in kept
    first, second, third = crews(store_path)
    assert first == second
    assert first.startswith("crew-")
    assert third == "C07"
    sites = Records.of(store_path).store.frame("select count(distinct site_id) n from jobs").item()
    assert sites == 2


def test_codes_stay_the_same_from_load_to_load(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [{**DONE_JOB, "crew_id": "Robin Example"}]})
    before = crews(store_path)
    again = load_tables({"jobs": [{**DONE_JOB, "crew_id": "Robin Example"}]})
    assert again.tables["jobs"].unchanged == 1
    assert crews(store_path) == before


def test_the_private_file_is_its_owners_only(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    for path in (private_path(store_path), store_path):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_lost_or_foreign_key_stops_the_load(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    kept = private_path(store_path).read_text()
    private_path(store_path).write_text('{"key": "00", "crews": {}}')
    with pytest.raises(StoreError, match="key of another store"):
        load_tables({"jobs": [DONE_JOB]})
    private_path(store_path).write_text("{")
    with pytest.raises(StoreError, match="cannot be read as the store's private file"):
        load_tables({"jobs": [DONE_JOB]})
    private_path(store_path).unlink()
    with pytest.raises(StoreError, match="is missing"):
        load_tables({"jobs": [DONE_JOB]})
    private_path(store_path).write_text(kept)
    assert load_tables({"jobs": [DONE_JOB]}).tables["jobs"].unchanged == 1


TEXTS = ("S-3", "17 Invented Lane", "17  invented lane ", "a\tb", "a\x1fb", "a\xa0b", "~\x7f", "", " ", "STRASSE")
MORE = ("stra\xdfe", "\ufb01nch row", "\u0130", "\u03a3\u03c2", "\uff21-1", "\xc5", "A\u030a", "site-0123456789ab")
LIKE_OURS = ("Site-0123456789AB", "site-1")


def test_a_code_is_cut_off_the_keyed_digest_of_the_text_in_any_spelling(tmp_path: Path) -> None:
    texts = [*TEXTS, None, *MORE, *LIKE_OURS, *TEXTS]
    found = Keyring(tmp_path / "private.json", b"key").site_codes(pl.Series(texts))
    for text, code in zip(texts, found, strict=True):
        if text is None or text == "site-0123456789ab":
            assert code == text
            continue
        plainly = " ".join(unicodedata.normalize("NFKC", text).casefold().split())
        digest = hmac.new(b"key", f"site\0{plainly}".encode(), hashlib.sha256).hexdigest()
        assert code == f"site-{digest[:12]}"
