"""What is kept of people and places, what was dropped on the way in, and whether an export would tell who is who."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

import polars as pl

from analytics.answers.extracting import in_force, share
from analytics.answers.records import Records
from analytics.contract.descriptions import KINDS
from analytics.contract.tables import TABLES
from analytics.decisions.anonymous import coarse
from analytics.decisions.small_groups import Groups, groups
from analytics.errors import StoreError, TooFewError
from analytics.intake import Keyring

AS_GIVEN = "as given"
KEPT_AS = {"site_id": "a keyed code, whatever was written", "crew_id": "as given where it is a code, else a code"}


@dataclass(frozen=True)
class Codes:
    """Codes that stand for places and people, as counts; ``private_file`` says how it is with the key and the names."""

    sites: int
    crews: int
    crews_by_name: int | None
    private_file: str


@dataclass(frozen=True)
class Privacy:
    """The report.

    ``kept``: table, column, kind, kept_as. ``dropped``: names of columns by load. ``groups`` are those of the records
    as they are, ``shared`` those of an anonymised extract (none where nothing could be shared).
    """

    k: int
    kept: pl.DataFrame
    dropped: Mapping[int, tuple[str, ...]]
    codes: Codes
    groups: tuple[Groups, ...]
    shared: tuple[Groups, ...]
    jobs_left_out: int | None

    def answer(self) -> dict[str, object]:
        """The answer's keys: rows are the columns kept."""
        return {
            "k": self.k,
            "rows": self.kept.to_dicts(),
            "dropped": [{"batch": batch, "columns": list(columns)} for batch, columns in self.dropped.items()],
            "codes": asdict(self.codes),
            "groups": [asdict(each) for each in self.groups],
            "groups_in_extract": [asdict(each) for each in self.shared],
            "jobs_left_out_of_extract": self.jobs_left_out,
        }


def privacy(records: Records, k: int = 5) -> Privacy:
    """The privacy report of a store; a group is small under ``k`` sites."""
    keyring, said = _keyring(records)
    try:
        made = share(records, k).extract
        shared, left_out = made.after, made.jobs_left_out
    except TooFewError:
        shared, left_out = (), None
    counts = records.ask("code_counts").row(0, named=True)
    return Privacy(
        k=k,
        kept=_kept(),
        dropped=_dropped(records, keyring),
        codes=Codes(counts["sites"], counts["crews"], None if keyring is None else len(keyring.crews), said),
        groups=groups(coarse(in_force(records)), k),
        shared=shared,
        jobs_left_out=left_out,
    )


def _kept() -> pl.DataFrame:
    rows = [
        {"table": table, "column": name, "kind": KINDS[type(column)], "kept_as": KEPT_AS.get(name, AS_GIVEN)}
        for table, schema in TABLES.items()
        for name, column in schema.columns().items()
    ]
    return pl.DataFrame(rows)


def _keyring(records: Records) -> tuple[Keyring | None, str]:
    """The store's private file, and how it is with it."""
    try:
        keyring = Keyring.of_store(records.store.path, records.store.meta("key_fingerprint"))
    except StoreError as error:
        return None, str(error)
    return keyring, f"{keyring.path.name} holds the key and the names; only its owner can read it"


def _dropped(records: Records, keyring: Keyring | None) -> dict[int, tuple[str, ...]]:
    """The columns dropped by each load in force; their names are private too, and kept with the key."""
    loads = records.ask("load_ledger")["batch"].unique().sort().to_list()
    kept = keyring.dropped if keyring else {}
    return {load: tuple(kept[str(load)]) for load in loads if kept.get(str(load))}
