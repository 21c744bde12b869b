"""Keyed codes for sites and for crews that go by a person's name.

The key and the list of names live beside the store, in a file that only its owner can read; the store itself
holds a fingerprint of the key, so that a lost or foreign key is noticed before anything is loaded.
"""

import hashlib
import hmac
import json
import os
import re
import secrets
import tempfile
import unicodedata
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl

from analytics.errors import StoreError

LOOKS_LIKE_A_CODE = re.compile(r"^(?=.*\d)[A-Za-z0-9-]+$")
CODES = 10**6


def private_path(store: Path) -> Path:
    """The private file that belongs to a store."""
    return store.with_suffix(".private.json")


@dataclass
class Keyring:
    """The secret key, and the crews' names by the codes that stand for them."""

    path: Path
    key: bytes
    crews: dict[str, str] = field(default_factory=dict)

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
            keyring = cls(path, bytes.fromhex(kept["key"]), dict(kept["crews"]))
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
        return hmac.new(self.key, f"{kind}\0{text}".encode(), hashlib.sha256).hexdigest()

    def site_codes(self, sites: pl.Series) -> pl.Series:
        """Every site replaced by its code; spacing and capitals make no difference."""
        codes = {site: f"site-{self._digest('site', _plain(site))[:12]}" for site in sites.unique().drop_nulls()}
        return sites.replace_strict(codes, return_dtype=pl.String)

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

    def keep(self) -> None:
        """Write the private file whole or not at all, readable by its owner only."""
        text = json.dumps({"key": self.key.hex(), "crews": self.crews}, ensure_ascii=False, indent=1)
        if self.path.exists() and self.path.read_text(encoding="utf-8") == text:
            return
        handle, draft = tempfile.mkstemp(dir=self.path.parent, prefix=f".{self.path.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(draft).replace(self.path)


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
