"""Cracks to be quoted: planned ones of the records, or one that is typed, held to the contract's limits."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isfinite
from types import MappingProxyType
from typing import Any

import dataframely as dy
import polars as pl

from analytics.answers.not_recorded import typed_is
from analytics.contract import columns as c
from analytics.contract.descriptions import label, limits, unit
from analytics.contract.tables import TABLES
from analytics.decisions.costs import to_cent
from analytics.errors import LeakbackError, UnknownNameError
from analytics.intake.by_hand import number_of

_CRACKS, _JOBS = TABLES["cracks"].columns(), TABLES["jobs"].columns()
MOST_CRACKS_ON_JOB, MOST_PRICE = 200, Decimal(1_000_000_000)
ASKED: Mapping[str, dy.Column] = MappingProxyType(
    {
        **{
            name: _CRACKS[name]
            for name in _CRACKS
            if (_CRACKS[name].metadata or {}).get("known") in {"handed", "chosen"}
        },
        **{name: _JOBS[name] for name in ("access", "crew_id", "warranty_months", "travel_minutes")},
        "cracks_on_job": c.whole("Cracks done on the same job.", "cracks", most=MOST_CRACKS_ON_JOB),
        "price": c.money("Price meant for this crack.", most=MOST_PRICE),
    }
)
"""What may be given of a crack to be quoted, by column."""
OF_ITS_JOB: Mapping[str, dy.Column] = MappingProxyType(
    {name: _JOBS[name] for name in ("site_id", "planned_on", "quoted_on", "price_quoted")}
)
"""What a file may say of a crack's job beside: the site's leak-backs, the season and the price hang on it."""
NEEDED = ("length_m", "width_mm")
LENGTHS = ("m", "mm")
"""Said behind a value as behind its limits, so that a reader of inches is given both in them."""
_BLANK_ELSE = {
    "branch": pl.String,
    "season": pl.String,
    "asked_on": pl.Date,
    "decided_on": pl.Date,
    "decision": pl.String,
    "reference": pl.String,
}
TYPED_ID = "typed"


@dataclass(frozen=True)
class CracksToQuote:
    """Cracks to be quoted: the columns of ``planned_cracks`` with cracks_on_job and price; and what was not taken.

    ``rejects``: row, column, reason; ``dropped_columns`` are not ours and were not read. ``unused``: what else of a
    file was not used, a sentence each.
    """

    cracks: pl.DataFrame
    rejects: tuple[Mapping[str, Any], ...] = ()
    dropped_columns: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()


def planned(cracks: pl.DataFrame, left_out: Collection[str] = ()) -> CracksToQuote:
    """The planned cracks of the records; a crack's price is its share, by length, of what was quoted for its job.

    Those ``left_out`` are not ones to inject: the others of their job share its price.
    """
    count = pl.len().over("job_id").cast(pl.Int64)
    return CracksToQuote(cracks.with_columns(cracks_on_job=count, price=share_of_price(left_out)))


def share_of_price(left_out: Collection[str]) -> pl.Expr:
    """A crack's share, by length, of what was quoted for its job; none of those ``left_out``."""
    length = pl.when(~pl.col("crack_id").is_in(list(left_out))).then("length_m")
    share = pl.col("price_quoted").cast(pl.Float64) * length / length.sum().over("job_id")
    return share.cast(pl.Decimal(14, 2))


def typed_crack(given: Mapping[str, Any]) -> CracksToQuote:
    """One crack from what was typed, by column of ``ASKED``; None where nothing was.

    Raises:
        LeakbackError, UnknownNameError: one sentence for the first measurement that is missing, no number, impossible,
            or a word that is not on its list.
    """
    values = {name: given.get(name) for name in ASKED}
    for name in NEEDED:
        if values[name] is None:
            raise LeakbackError(f"no {label(name)} is given: a quote needs at least a length and a width")
    for name, value in values.items():
        if value is not None:
            require_possible(name, value)
    facts = values | {"crack_id": TYPED_ID, "job_id": TYPED_ID, "cracks_on_job": values["cracks_on_job"] or 1}
    facts["price"] = None if values["price"] is None else to_cent(values["price"])
    return CracksToQuote(frame([facts]))


def typed_job(given: Sequence[Mapping[str, Any]], price: Decimal | None) -> CracksToQuote:
    """The cracks of one job, each as ``typed_crack`` takes it; ``price`` is the job's, shared out by length.

    Raises:
        LeakbackError, UnknownNameError: one sentence for the first that cannot be, and of which crack.
    """
    cracks = []
    for place, facts in enumerate(given, start=1):
        try:
            cracks.append(typed_crack({**facts, "cracks_on_job": len(given)}).cracks)
        except LeakbackError as error:
            raise LeakbackError(f"{numbered(place)}: {error}") from error
    found = pl.concat(cracks).with_columns(
        crack_id=pl.Series([numbered(place) for place in range(1, len(given) + 1)]),
        price_quoted=pl.lit(price).cast(pl.Decimal(14, 2)),
    )
    return planned(found)


def numbered(place: int) -> str:
    """What a crack typed without a number of its own is called."""
    return f"crack {place}"


def typed_number(name: str, text: str) -> float | Decimal | None:
    """What was typed for a column of ``ASKED``; None where that is blank.

    Raises:
        LeakbackError: it is no number, or could be two.
    """
    value, fault = number_of(text, ASKED[name])
    if fault:
        raise LeakbackError(f"{label(name)} {typed_is(text, fault)}")
    return value


def require_possible(name: str, value: object) -> None:
    """LeakbackError or UnknownNameError in one sentence where no crack can have ``value``."""
    column = ASKED.get(name) or OF_ITS_JOB[name]
    if isinstance(value, str):
        if isinstance(column.dtype, pl.Enum) and value not in (words := column.dtype.categories.to_list()):
            raise UnknownNameError(label(name), value, words)
    elif isinstance(value, int | float | Decimal) and not _possible(column, value):
        own = unit(column)
        told = f"{value:g} {own}" if own in LENGTHS else f"{value:g}"
        asked = limits(column).removesuffix(f" {unit(ASKED['price'])}") or "a number"
        raise LeakbackError(f"{label(name)} {told}: it must be {asked}")


def _possible(column: dy.Column, value: float | Decimal) -> bool:
    low, above, high = (getattr(column, name, None) for name in ("min", "min_exclusive", "max"))
    is_number = value.is_finite() if isinstance(value, Decimal) else isfinite(value)
    within = is_number and (low is None or value >= low) and (above is None or value > above)
    return within and (high is None or value <= high)


def frame(rows: Sequence[Mapping[str, Any]]) -> pl.DataFrame:
    """Rows of crack_id, job_id and columns of ``ASKED`` and ``OF_ITS_JOB`` as planned cracks, all else not known."""
    kinds: dict[str, Any] = {
        name: pl.String() if isinstance(column.dtype, pl.Enum) else column.dtype
        for name, column in {**ASKED, **OF_ITS_JOB}.items()
    }
    schema = {"crack_id": pl.String, "job_id": pl.String, **kinds, **_BLANK_ELSE, "site_leak_backs": pl.Int64}
    blank = dict.fromkeys({**OF_ITS_JOB, **_BLANK_ELSE}) | {"site_leak_backs": 0}
    return pl.DataFrame([{**blank, **row} for row in rows], schema=schema)
