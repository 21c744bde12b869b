"""Quotes checked against the business's own finished work: what `leakback quote` and the quote page both show."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import polars as pl

from analytics.answers import experience, flagging
from analytics.answers.quote_input import CracksToQuote, planned
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.contract.bounds import QUOTE_LEVEL, require_level, require_months
from analytics.contract.rows import Rows
from analytics.decisions.costs import NO_MARGIN, NO_SEAL, to_cent
from analytics.decisions.prep import PrepValue
from analytics.decisions.quote import Comparable, JobQuote, Price, Quote, Span
from analytics.decisions.quote_check import alike, check, check_jobs
from analytics.decisions.triage import Flag

MONTHS = 24


@dataclass(frozen=True)
class Quotes:
    """Every quote asked for, with what they rest on.

    ``jobs``: whole jobs, where several cracks may be of one. ``rejects`` are rows of a file that were not quoted.
    ``said``: what is missing for all of them, and why. ``unused``: what else of a file was not used, and why.
    """

    as_of: date | None
    months: int
    level: float
    currency: str
    quotes: Sequence[Quote]
    jobs: Sequence[JobQuote]
    said: tuple[str, ...]
    rejects: tuple[Mapping[str, Any], ...] = ()
    dropped_columns: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        return {
            "as_of": self.as_of,
            "months": self.months,
            "level": self.level,
            "currency": self.currency,
            "said": list(self.said),
            "rows": Rows.each(self.quotes, _ROW),
            "jobs": [_job(job) for job in self.jobs],
            "rejects": [dict(reject) for reject in self.rejects],
            "dropped_columns": list(self.dropped_columns),
            "unused": list(self.unused),
        }


def quote_planned(records: Records, *, level: float = QUOTE_LEVEL, months: int = MONTHS) -> Quotes:
    """A quote for each crack of the planned jobs in the records, priced as ``quote_job`` prices it."""
    cracks = records.ask("planned_cracks")
    asked = planned(cracks, flagging.not_to_inject(records, cracks))
    return quote(records, asked, level=level, months=months)


@remembered
def quote_job(records: Records, job_id: str) -> Quotes:
    """A quote for each crack of one planned job that is one to inject; its travel and set-up are shared out over these.

    Whether a crack is one to inject hangs on every crack of the job; the flags of these quotes see those quoted alone.
    """
    cracks = records.ask("planned_cracks").filter(pl.col("job_id") == job_id)
    kept = cracks.filter(~pl.col("crack_id").is_in(flagging.not_to_inject(records, cracks)))
    return quote(records, planned(kept))


def litres_of_job(records: Records, job_id: str) -> dict[str, Span]:
    """The litres that each crack of a planned job takes, by its number; only of cracks to inject that can be told."""
    quotes = quote_job(records, job_id).quotes
    return {each.crack_id: each.litres for each in quotes if each.litres.expected is not None}


def quote(records: Records, asked: CracksToQuote, *, level: float = QUOTE_LEVEL, months: int = MONTHS) -> Quotes:
    """A quote for each crack asked for; LeakbackError for months or a level that are none.

    A crack that is not one to inject leaves what its job takes once to the others.
    """
    require_months(months)
    require_level(level)
    basis, prices = experience.basis(records), records.policy.prices
    prep = PrepValue.of(records.policy, basis.rates, basis.leak_back)
    with ThreadPoolExecutor(max_workers=1) as beside:  # distances are array work, flags are not
        likeness = beside.submit(alike, basis.reference, asked.cracks)
        flags = flagging.flag(records, asked.cracks, basis.model, prep, months=months, level=level)
        cracks = _shared(asked.cracks, flags)
        quotes = check(cracks, basis, flags, likeness.result(), prices, level)
    unset = (NO_MARGIN if prices.margin is None else "", NO_SEAL if prices.seal_kg_per_litre is None else "")
    return Quotes(
        as_of=records.as_of,
        months=months,
        level=level,
        currency=basis.rates.currency,
        quotes=quotes,
        jobs=check_jobs(cracks, quotes, basis, prices, level),
        said=(*basis.said, *(sentence for sentence in unset if sentence)),
        rejects=asked.rejects,
        dropped_columns=asked.dropped_columns,
        unused=asked.unused,
    )


def _shared(cracks: pl.DataFrame, flags: Sequence[Flag]) -> pl.DataFrame:
    """The cracks with cracks_on_job less those of their job that are not ones to inject, one at least."""
    left_out = pl.col("crack_id").is_in([flag.crack_id for flag in flags if flag.unpriced])
    gone = left_out.sum().over("job_id").cast(pl.Int64)
    return cracks.with_columns(cracks_on_job=(pl.col("cracks_on_job") - gone).clip(1))


def _price(price: Price) -> dict[str, Decimal | None]:
    return {"floor": _cents(price.floor), "target": _cents(price.target), "bad_end": _cents(price.bad_end)}


def _costs(price: Price) -> dict[str, object] | None:
    """The build-up of the floor."""
    if price.costs is None:
        return None
    parts = ("resin", "ports", "seal", "material", "labour", "travel", "direct")
    split = {name: _cents(getattr(price.costs, name)) for name in parts}
    return {**split, "leak_backs": price.leak_backs.answer(), "leak_back_cost": _cents(price.leak_back_cost)}


def _asked(quote: Quote) -> dict[str, object] | None:
    """Where the price meant stands, None where none was given."""
    place = quote.place
    if place is None:
        return None
    return {
        "price": place.price,
        "dearer_than": place.under,
        "of": place.of,
        "comparable_low": place.low,
        "comparable_middle": place.middle,
        "comparable_high": place.high,
        "margin": place.margin,
        "margin_bad_end": place.margin_bad_end,
    }


def _comparable(each: Comparable) -> dict[str, object]:
    return {"crack_id": each.finished.crack_id, "why": each.why, "distance": each.distance, **vars(each.finished)}


def _job(job: JobQuote) -> dict[str, object]:
    return {
        "job_id": job.job_id,
        "cracks": job.cracks,
        "litres": job.litres.answer(),
        "labour_minutes": job.minutes.answer(),
        "job_hours": job.hours.answer(),
        "price": {"floor": _cents(job.floor), "target": _cents(job.target)},
        "price_quoted": job.price,
        "margin": job.margin,
    }


def _cents(amount: Decimal | None) -> Decimal | None:
    return None if amount is None else to_cent(amount)


_ROW: Mapping[str, Callable[[Quote], object]] = {
    "crack_id": lambda quote: quote.crack_id,
    "job_id": lambda quote: quote.job_id,
    "litres": lambda quote: quote.litres.answer(),
    "labour_minutes": lambda quote: quote.minutes.answer(),
    "job_hours": lambda quote: quote.hours.answer(),
    "ports": lambda quote: quote.take_off.ports,
    "void_litres": lambda quote: quote.take_off.void_litres,
    "seal_litres": lambda quote: quote.take_off.seal_litres,
    "fill_minutes_at_least": lambda quote: quote.take_off.fill_minutes,
    "cure_hours": lambda quote: quote.take_off.cure_hours,
    "risk": lambda quote: quote.flag.risk,
    "low": lambda quote: quote.flag.low,
    "high": lambda quote: quote.flag.high,
    "price": lambda quote: _price(quote.price),
    "costs": lambda quote: _costs(quote.price),
    "asked": _asked,
    "comparable": lambda quote: [_comparable(each) for each in quote.comparable],
    "unlike": lambda quote: list(quote.unlike.measurements) if quote.unlike else [],
    "action": lambda quote: quote.flag.action,
    "needs": lambda quote: quote.flag.needs,
    "reasons": lambda quote: flagging.ROW["reasons"](quote.flag),
    "notes": lambda quote: list(quote.notes),
}
"""A row of the answer: each column, and what stands in it."""
