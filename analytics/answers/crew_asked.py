"""The crew somebody asks about by its code or its name: one of those the records know."""

import polars as pl

from analytics.answers.records import Records
from analytics.answers.standing import present
from analytics.errors import LeakbackError, StoreError, UnknownNameError
from analytics.intake import Keyring


def crew_asked(records: Records, typed: str) -> str:
    """The code of the crew ``typed``: as it stands on a job, finished or planned, or by the name it stands for.

    A name is read by the store's private file, where that is at hand and who asks may be told crews.

    Raises:
        LeakbackError, UnknownNameError: one sentence where no job has such a crew, naming those that are known.
    """
    asked = typed.strip()
    known = set(records.ask("known_names").filter(column_name="crew_id")["name"])
    if asked in known:
        return asked
    keyring = keyring_of(records)
    code = asked if keyring is None else keyring.crew_codes(pl.Series([asked])).item()  # never kept: it is only asked
    if code in known:
        return str(code)
    if keyring is None and known:
        listed = ", ".join(sorted(known))
        raise LeakbackError(f"unknown crew {asked!r}: crews go by their codes here; it is one of {listed}.")
    kind = "crew"
    raise UnknownNameError(kind, asked, known)


def keyring_of(records: Records) -> Keyring | None:
    """The store's private file; None where it is not at hand, or who asks may not be told crews."""
    if present().rights.crews == "unnamed":
        return None
    try:
        return Keyring.of_store(records.store.path, records.store.meta("key_fingerprint"))
    except StoreError:
        return None
