"""Checks quotes: litres, minutes, cost, leak-backs, price and comparable jobs of planned cracks, many at a time."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from analytics.contract.ages import MINUTES_PER_HOUR
from analytics.contract.descriptions import label
from analytics.contract.policy import Prices
from analytics.decisions.comparable import FinishedCracks, nearest
from analytics.decisions.costs import LeakBackCost, RatesInForce, margin_at, warranty_leak_backs, warranty_note
from analytics.decisions.estimating import WorkModel, estimate, estimate_jobs
from analytics.decisions.likeness import Unlike, compare, unlike
from analytics.decisions.placing import place
from analytics.decisions.quote import Comparable, Finished, JobQuote, Price, Quote, Span, TakeOff
from analytics.decisions.quote_price import Terms, Told, price, share_of_job
from analytics.decisions.taking_off import take_offs, with_spacing
from analytics.decisions.triage import Flag
from analytics.risk import HazardModel

NO_TRAVEL = "No travel is given, so none is counted."
SPACING = (
    "No port spacing is given: ports are counted as far apart as the wall is thick, within the usual 150 to 250 mm "
    "(6 to 10 in)."
)
_MEASURED = ("length_m", "width_mm", "wall_thickness_mm", "resin")
"""Without one of these neither litres nor price can be told."""
Facts = Mapping[str, Any]


@dataclass(frozen=True, eq=False)
class Basis:
    """What quotes are checked against; what is missing is None, and ``said`` says why, of the model ``no_model`` too.

    ``reference`` holds the done cracks with price and price_per_metre beside the columns of ``follow_up``.
    """

    litres: WorkModel | None
    minutes: WorkModel | None
    reference: FinishedCracks
    model: HazardModel | None
    leak_back: LeakBackCost | None
    rates: RatesInForce
    said: tuple[str, ...]
    no_model: str


@dataclass(frozen=True, slots=True)
class Likeness:
    """The finished cracks a planned one is like, nearest first, and why it is like none, where it is."""

    comparable: tuple[Comparable, ...]
    unlike: Unlike | None


Worked = tuple[TakeOff, Told, Likeness]


def check(
    cracks: pl.DataFrame,
    basis: Basis,
    flags: Sequence[Flag],
    likeness: Iterable[Likeness],
    prices: Prices,
    level: float,
) -> list[Quote]:
    """A quote for each planned crack, in the order of ``cracks``; without a price where it is not one to inject.

    ``cracks`` is the frame ``planned_cracks`` with cracks_on_job and price (a number, null where none is meant);
    ``flags`` has one flag a crack, in any order; ``likeness`` is what ``alike`` found.
    """
    spaced = with_spacing(cracks)
    flagged = {flag.crack_id: flag for flag in flags}
    terms = Terms(basis.rates, prices, basis.leak_back)
    worked = zip(take_offs(spaced), _told(basis, spaced, level), likeness, strict=True)
    oldest = basis.model.oldest_days if basis.model else None
    return [
        _quote(facts, each, terms, flagged[facts["crack_id"]], oldest)
        for facts, each in zip(spaced.iter_rows(named=True), worked, strict=True)
    ]


def _quote(facts: Facts, worked: Worked, terms: Terms, flag: Flag, oldest_days: float | None) -> Quote:
    take_off, told, like = worked
    built, why_not = (Price(), ()) if flag.unpriced else price(facts, take_off, told, terms)
    unmeasured = _unmeasured(facts)
    own_price = facts["price"]
    return Quote(
        crack_id=facts["crack_id"],
        job_id=facts["job_id"],
        facts=facts,
        take_off=take_off,
        litres=told.litres,
        minutes=told.minutes,
        hours=_hours(told.minutes, sum(share_of_job(facts, terms.prices))),
        price=built,
        place=None if own_price is None else place(own_price, built, like.comparable, facts["length_m"]),
        comparable=like.comparable,
        unlike=like.unlike,
        flag=flag,
        notes=(*unmeasured, *_notes(facts, oldest_days), *why_not),
        why_unpriced=(*unmeasured, *why_not),
    )


def _unmeasured(facts: Facts) -> tuple[str, ...]:
    """What is blank without which there is no price, in a sentence; nothing where it is all there."""
    blank = [label(name) for name in _MEASURED if facts[name] is None]
    return (f"Not recorded: {', '.join(blank)}; without it litres and price cannot be told.",) if blank else ()


def _notes(facts: Facts, oldest_days: float | None) -> tuple[str, ...]:
    """What was assumed or left out for this crack, each in a sentence."""
    travel = NO_TRAVEL if facts["travel_minutes"] is None else ""
    spacing = SPACING if facts["spacing_assumed"] and facts["port_spacing_mm"] is not None else ""
    warranty = "" if oldest_days is None else warranty_note(facts["warranty_months"], oldest_days)
    return tuple(note for note in (travel, spacing, warranty) if note)


def _hours(minutes: Span, beside: float) -> Span:
    def hours(end: float | None) -> float | None:
        return None if end is None else (end + beside) / MINUTES_PER_HOUR

    return Span(hours(minutes.low), hours(minutes.expected), hours(minutes.high))


def _told(basis: Basis, cracks: pl.DataFrame, level: float) -> Iterator[Told]:
    """What is foretold of each crack."""
    leaks = None
    if basis.model is not None:
        leaks = warranty_leak_backs(basis.model, cracks, level).rename({"leak_backs": "expected"})
    parts = (_estimated(basis.litres, cracks, level), _estimated(basis.minutes, cracks, level), leaks)
    return map(Told, *(_spans(part, cracks.height) for part in parts))


def _estimated(model: WorkModel | None, cracks: pl.DataFrame, level: float) -> pl.DataFrame | None:
    return None if model is None else estimate(model, cracks, level)


def _spans(found: pl.DataFrame | None, count: int) -> Iterator[Span]:
    if found is None:
        return (Span() for _ in range(count))
    return (Span(*row) for row in found.select("low", "expected", "high").iter_rows())


def alike(reference: FinishedCracks, cracks: pl.DataFrame) -> list[Likeness]:
    """The finished cracks that each planned crack is like, in the order of ``cracks``."""
    rows, distances = nearest(reference, cracks)
    why_none = unlike(reference, cracks, rows, distances)
    each = rows.shape[1]
    likest, others = np.unique(rows, return_inverse=True)  # one finished crack is like many planned ones
    them = reference.cracks[likest.tolist()]
    finished = [Finished(*facts) for facts in them.select(Finished.__dataclass_fields__.keys()).iter_rows()]
    beside = compare(
        reference.ranges, cracks[np.repeat(np.arange(cracks.height), each).tolist()], them[others.ravel().tolist()]
    )
    them_again = map(finished.__getitem__, others.ravel().tolist())
    made = list(map(Comparable, them_again, distances.ravel().tolist(), *(words.to_list() for words in beside)))
    return [Likeness(tuple(made[place * each : (place + 1) * each]), why) for place, why in enumerate(why_none)]


def check_jobs(
    cracks: pl.DataFrame, quotes: Sequence[Quote], basis: Basis, prices: Prices, level: float
) -> list[JobQuote]:
    """Whole jobs, in order of job: sums of their cracks, with intervals calibrated on whole jobs.

    ``cracks`` as given to ``check``, all cracks of a job together; price_quoted is the job's. Cracks that are not ones
    to inject are left out, and a job of no others; as the price quoted may hold them, no margin is told then. A job of
    which more cracks are counted than are here to inject is none that can be told whole, and is left out too.
    """
    given = Counter(quote.job_id for quote in quotes if not quote.flag.unpriced)
    left_out = {quote.job_id for quote in quotes if quote.flag.unpriced}
    kept = pl.Series([not quote.flag.unpriced for quote in quotes], dtype=pl.Boolean)
    spaced = with_spacing(cracks.filter(kept))
    litres, minutes = (
        {} if model is None else {job: Span(*ends) for job, *ends in estimate_jobs(model, spaced, level).iter_rows()}
        for model in (basis.litres, basis.minutes)
    )
    by_job: dict[str, list[Quote]] = {}
    for quote in quotes:
        if not quote.flag.unpriced and given[quote.job_id] >= quote.facts["cracks_on_job"]:
            by_job.setdefault(quote.job_id, []).append(quote)
    found = [
        _job(job, by_job[job], litres.get(job, Span()), minutes.get(job, Span()), prices) for job in sorted(by_job)
    ]
    return [replace(job, margin=None) if job.job_id in left_out else job for job in found]


def _job(job_id: str, quotes: Sequence[Quote], litres: Span, minutes: Span, prices: Prices) -> JobQuote:
    facts = quotes[0].facts
    beside = (facts["travel_minutes"] or 0.0) + (prices.set_up_minutes or 0.0)
    floor, target = _sum([each.price.floor for each in quotes]), _sum([each.price.target for each in quotes])
    quoted = facts["price_quoted"]
    if quoted is None:
        quoted = _sum([each.facts["price"] for each in quotes])
    margin = float(margin_at(quoted, floor)) if quoted and floor is not None else None
    return JobQuote(job_id, len(quotes), litres, minutes, _hours(minutes, beside), floor, target, quoted, margin)


def _sum(amounts: Sequence[Decimal | None]) -> Decimal | None:
    """The sum, None where one is not known."""
    known = [amount for amount in amounts if amount is not None]
    return sum(known, Decimal(0)) if len(known) == len(amounts) else None
