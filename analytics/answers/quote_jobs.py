"""The jobs of a file of cracks to be quoted, where they stand apart: by job, what its row says, or why it cannot."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import dataframely as dy

from analytics.answers.quote_rows import FIRST_ROW, Coder, Row, given, name_crews, typed_rows
from analytics.contract.descriptions import label
from analytics.contract.tables import TABLES
from analytics.intake import Sheet

KEY: Mapping[str, dy.Column] = MappingProxyType({"job_id": TABLES["jobs"].columns()["job_id"]})


@dataclass(frozen=True)
class JobsRead:
    """Jobs by their number: what the row of each says, with the ``where`` of it; ``unfit`` says why one cannot be used.

    ``nameless`` are the places of the rows that name no job.
    """

    told: Mapping[str, Row] = field(default_factory=dict)
    unfit: Mapping[str, str] = field(default_factory=dict)
    nameless: tuple[str, ...] = ()


def read_jobs(
    sheets: Sequence[Sheet],
    columns: Mapping[str, dy.Column],
    crew_of: Callable[[str], str],
    coded: Mapping[str, Coder],
) -> JobsRead:
    """The jobs of these sheets, with what they say of ``columns``; one of which two rows differ is unfit."""
    told: dict[str, Row] = {}
    unfit: dict[str, str] = {}
    nameless: list[str] = []
    for row, fault in _rows(sheets, columns, crew_of, coded):
        job, where = row.pop("job_id", None), row["where"]
        if job is None:
            nameless.append(where)
        elif fault:
            unfit.setdefault(job, fault)
        elif differing := _differing(first := told.setdefault(job, row), row):
            both = f"{first['where']} and {where}"
            unfit.setdefault(job, f"its job cannot be used: {both} differ in {label(differing)}; leave one of them")
        else:
            told[job] = row | given(first)
    return JobsRead(told, unfit, tuple(nameless))


def _rows(
    sheets: Iterable[Sheet], columns: Mapping[str, dy.Column], crew_of: Callable[[str], str], coded: Mapping[str, Coder]
) -> Iterable[tuple[Row, str]]:
    """Each row with the first fault of it, empty where there is none."""
    for sheet in sheets:
        rows, faults = typed_rows(sheet, {**KEY, **columns}, (), coded)
        faults |= dict(name_crews(rows, crew_of))
        first: dict[int, str] = {}
        for (place, column), reason in sorted(faults.items()):
            first.setdefault(place, f"{column}: {reason}" if column else reason)
        for row in rows:
            place = row.pop("row")
            where = f"row {place + FIRST_ROW} of {sheet.names[0]}"
            fault = f"its job cannot be used, {where}: {first[place]}" if place in first else ""
            yield row | {"where": where}, fault


def _differing(one: Row, other: Row) -> str:
    """The first column of which both rows say something, and not the same; empty where there is none."""
    both = given(one).keys() & given(other).keys() - {"where"}
    return next((name for name in one if name in both and one[name] != other[name]), "")
