"""Keyed codes for sites and for crews that go by a person's name.

The key and the list of names live beside the store, in a file that only its owner can read; the store itself
holds a fingerprint of the key, so that a lost or foreign key is noticed before anything is loaded.
"""

import json
import os
import re
import secrets
import tempfile
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.hmac import HMAC

from analytics.errors import CannotWriteError, StoreError

OUR_CODE = re.compile(r"^[a-z]+-[0-9a-f]{12}$")
"""A code made here before, in a row that comes back from a work list: it stays."""
LOOKS_LIKE_A_CODE = re.compile(r"^(?=.*\d)[A-Za-z0-9-]+$")
PLAIN_ALREADY = r"^[!-~]+( [!-~]+)*$"
"""Texts in one spelling only and evenly spaced, of which nothing but the capitals is to be folded."""
CODES = 10**6
CODE_LENGTH = 12


def private_path(store: Path) -> Path:
    """The private file that belongs to a store."""
    return store.with_suffix(".private.json")


@dataclass
class Keyring:
    """The secret key, the crews' names by the codes that stand for them, and the columns each load dropped."""

    path: Path
    key: bytes
    crews: dict[str, str] = field(default_factory=dict)
    dropped: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    def of_store(cls, store: Path, fingerprint: str | None) -> "Keyring":
        """The keyring of a store, made new for a new store; StoreError where it is lost, damaged or foreign.

        Args:
            store: the store's path.
            fingerprint: what the store remembers of its key; None where it has none yet.
        """
        path = private_path(store)
        if not path.exists():
            if fingerprint is not None:
                raise StoreError(
                    f"{path} is missing: it holds the key to this store's site and crew codes; put it back"
                )
            return cls(path, secrets.token_bytes(32))
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            keyring = cls(path, bytes.fromhex(kept["key"]), dict(kept["crews"]), dict(kept.get("dropped", {})))
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise StoreError(f"{path} cannot be read as the store's private file; put back a sound copy") from error
        if fingerprint not in {None, keyring.fingerprint}:
            raise StoreError(f"{path} holds the key of another store; put back the one made with {store.name}")
        return keyring

    @property
    def fingerprint(self) -> str:
        """What may be known of the key without knowing it."""
        return self._digest("fingerprint", "")[:16]

    def _digest(self, kind: str, text: str) -> str:
        return next(self._digests(kind, [text.encode()])).hex()

    def _digests(self, kind: str, texts: Iterable[bytes]) -> Iterator[bytes]:
        """Keyed digests; the key is worked in once, not once a text."""
        keyed = HMAC(self.key, SHA256())
        keyed.update(f"{kind}\0".encode())
        for text in texts:
            one = keyed.copy()
            one.update(text)
            yield one.finalize()

    def site_codes(self, sites: pl.Series) -> pl.Series:
        """Every site replaced by its code; spacing and capitals make no difference."""
        return self.codes(sites, "site")

    def codes(self, texts: pl.Series, kind: str) -> pl.Series:
        """Every text replaced by its code, such as ``site-`` and twelve letters and digits; our own codes stay.

        A text that comes again is worked out again: nearly every job has a site of its own.
        """
        said = _all_plain(texts.fill_null("")).cast(pl.Binary).to_list()
        digests = pl.Series(self._digests(kind, said), dtype=pl.Binary)
        made = f"{kind}-" + digests.bin.encode("hex").str.head(CODE_LENGTH)
        return made.zip_with(texts.is_not_null() & ~texts.str.contains(OUR_CODE.pattern), texts)

    def person_code(self, name: str) -> str:
        """The code for somebody who signed in: the same for the same address, and nothing without the key."""
        return f"person-{self._digest('person', _plain(name))[:CODE_LENGTH]}"

    def crew_codes(self, crews: pl.Series) -> pl.Series:
        """Every crew that is not a code already replaced by one; the name is kept in the private file."""
        names = [crew for crew in crews.unique().drop_nulls().sort() if not LOOKS_LIKE_A_CODE.match(crew)]
        codes = {name: self._crew_code(name) for name in names}
        return crews.replace(codes) if codes else crews

    def _crew_code(self, name: str) -> str:
        start = int(self._digest("crew", _plain(name)), 16)
        for step in range(CODES):
            code = f"crew-{(start + step) % CODES:06d}"
            if _plain(self.crews.setdefault(code, name)) == _plain(name):
                return code
        raise StoreError(f"{self.path} holds {CODES} crew names; start a new store")

    def note_dropped(self, load: int, columns: Sequence[str]) -> None:
        """Keep the names of the columns that a load dropped: a header, too, can hold somebody's name."""
        if columns:
            self.dropped[str(load)] = list(columns)
            self.keep()

    def keep(self) -> None:
        """Write the private file whole or not at all, readable by its owner only; CannotWriteError where that fails."""
        kept = {"key": self.key.hex(), "crews": self.crews, "dropped": self.dropped}
        text = json.dumps(kept, ensure_ascii=False, indent=1)
        if self.path.exists() and self.path.read_text(encoding="utf-8") == text:
            return
        try:
            handle, draft = tempfile.mkstemp(dir=self.path.parent, prefix=f".{self.path.name}.")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            Path(draft).replace(self.path)
        except OSError as error:
            raise CannotWriteError(f"{self.path} cannot be written ({error.strerror})") from error


def _all_plain(texts: pl.Series) -> pl.Series:
    """Every text as ``_plain`` gives it, one by one only where it is not plain already but for its capitals."""
    found = texts.str.to_lowercase()
    others = (~texts.str.contains(PLAIN_ALREADY)).arg_true()
    return found.scatter(others, [_plain(text) for text in texts.gather(others)]) if len(others) else found


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
