"""The anonymised extract: what may be handed to somebody outside, and what it is not fit for."""

import secrets
from dataclasses import asdict, dataclass

from analytics.answers.job_rows import typed
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.decisions.anonymous import NUMBERS, Extract, extract
from analytics.decisions.small_groups import Tables
from analytics.errors import LeakbackError
from analytics.store.committing import current

KEY_BYTES = 32
NOT_FIT_FOR = (
    "ages to the month: days are the first of their season's quarter, so an age is right to three months only",
    "the end of a warranty: a leak-back near it may fall on its other side",
    "prices, costs and the reserve: no price, rate or travel is in it",
    "sites seen twice, single crews or branches that were small: small groups are merged or left out",
    "keeping a crack secret from who measured it: lengths and widths are as they were",
)
SAFE_IN = (
    "numbers and codes are given anew with a key that is thrown away; rows stand in the order of the new numbers",
    "a job has one day, the first of its quarter (December, March, June, September), so its season stays",
    "names of branches and crews are codes; small ones are other",
)


@dataclass(frozen=True)
class Shared:
    """An extract, and what is said with it."""

    extract: Extract

    def answer(self) -> dict[str, object]:
        """The answer's keys: rows counts what is in each file."""
        made = self.extract
        return {
            "k": made.k,
            "rows": [{"table": name, "rows": rows.height} for name, rows in made.tables.items()],
            "jobs_read": made.jobs_read,
            "jobs_left_out": made.jobs_left_out,
            "groups_before": [asdict(each) for each in made.before],
            "groups": [asdict(each) for each in made.after],
            "not_fit_for": list(NOT_FIT_FOR),
        }


def share(records: Records, k: int) -> Shared:
    """The anonymised extract of the records, every group at least ``k`` sites; LeakbackError where none is left."""
    if k < 2:  # noqa: PLR2004 - a group of one is a house
        raise LeakbackError(f"--k {k}: a group must hold at least 2 sites")
    return Shared(extract(in_force(records), k, secrets.token_bytes(KEY_BYTES)))


def in_force(records: Records) -> Tables:
    """The rows in force of the tables that an extract is made of."""
    return {name: typed(current(records.store, name, TABLES[name].column_names()), name) for name in NUMBERS}


def about(shared: Shared) -> str:
    """The text that goes with the files."""
    made = shared.extract
    lines = [
        "An anonymised extract of a crack-injection business's records.",
        "",
        f"Every group of jobs that an outsider could tell apart holds at least {made.k} sites.",
        f"Left out, as they stood alone: {made.jobs_left_out} of {made.jobs_read} jobs.",
        *(f"- {line}" for line in SAFE_IN),
        "",
        "Not fit for:",
        *(f"- {line}" for line in NOT_FIT_FOR),
        "",
        "The files load like any other's: leakback load this-folder --store a-store-of-its-own.duckdb",
    ]
    return "\n".join(lines) + "\n"
