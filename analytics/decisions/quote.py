"""A quote checked: everything that is worked out about one planned crack, and about its job."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from analytics.decisions.costs import Costs
from analytics.decisions.likeness import Unlike
from analytics.decisions.triage import Flag


@dataclass(frozen=True, slots=True)
class Span:
    """An expected value and the ends of its interval; None where it cannot be told."""

    low: float | None = None
    expected: float | None = None
    high: float | None = None

    def answer(self) -> dict[str, float | None]:
        """The span as the contract's answers give it."""
        return {"low": self.low, "expected": self.expected, "high": self.high}


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Quantities from geometry and the trade's usual times; None where a measurement they need is blank.

    ``spacing_mm`` is the port spacing counted with, ``spacing_assumed`` where none was given. ``fill_minutes`` is the
    least: a minute to each next port. ``cure_hours`` is the time before the ports come off.
    """

    void_litres: float | None
    ports: int | None
    spacing_mm: float | None
    spacing_assumed: bool
    seal_litres: float | None
    fill_minutes: float | None
    cure_hours: float | None


@dataclass(frozen=True, slots=True)
class Price:
    """The price of a crack, built up; every amount exact.

    ``leak_backs`` is the chance of one under warranty. ``bad_end`` is the floor with litres, minutes and leak-backs
    all at the upper end of their intervals. What cannot be told is None, and the quote's notes say why; so is all of a
    crack that is not one to inject, and its flag says why.
    """

    costs: Costs | None = None
    leak_backs: Span = Span()
    leak_back_cost: Decimal | None = None
    floor: Decimal | None = None
    bad_end: Decimal | None = None
    target: Decimal | None = None


@dataclass(frozen=True)
class Finished:
    """A finished crack: what it took, what it was sold for and how it has held.

    ``price`` is its share (by length) of what its job was charged; ``price_per_metre`` the same over its length at
    today's hourly labour rate, None where a rate or the charge is missing.
    """

    crack_id: str
    job_id: str
    done_on: date
    length_m: float | None
    width_mm: float | None
    wall_thickness_mm: float | None
    water: str | None
    resin: str | None
    resin_litres: float | None
    labour_minutes: float | None
    price: float | None
    price_per_metre: float | None
    leaked_back: bool
    watched_days: float


@dataclass(frozen=True, slots=True)
class Comparable:
    """A finished crack like the planned one, and why: what matches, and what differs.

    ``alike`` names the ``matching`` measurements of the ``beside`` that both have, ``differs`` says the others; both
    are empty where there is nothing to name.
    """

    finished: Finished
    distance: float
    alike: str
    differs: str
    matching: int
    beside: int

    @property
    def why(self) -> str:
        """Why it is comparable: what matches, then what differs."""
        alike = f"same {self.alike}" if self.alike else ""
        return f"{alike}; {self.differs}" if alike and self.differs else alike or self.differs


@dataclass(frozen=True, slots=True)
class PricePlace:
    """Where a price stands among the comparable cracks by its amount a metre: dearer than ``under`` of ``of``.

    ``low``, ``middle`` and ``high`` are the least, the median and the most that they come to at this crack's length.
    ``margin`` and ``margin_bad_end`` are shares of the price left above the floor and above its bad end.
    """

    price: Decimal
    under: int
    of: int
    low: float | None
    middle: float | None
    high: float | None
    margin: float | None
    margin_bad_end: float | None


@dataclass(frozen=True, slots=True)
class Quote:
    """One planned crack: what was measured, what it will take and cost, what it is like, what it needs first.

    ``hours`` are person-hours with the crack's share of travel and set-up. ``why_unpriced`` are those of the ``notes``
    that say why it has no price, where that is the crack's own doing.
    """

    crack_id: str
    job_id: str
    facts: Mapping[str, Any]
    take_off: TakeOff
    litres: Span
    minutes: Span
    hours: Span
    price: Price
    place: PricePlace | None
    comparable: tuple[Comparable, ...]
    unlike: Unlike | None
    flag: Flag
    notes: tuple[str, ...]
    why_unpriced: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobQuote:
    """A planned job, all its cracks to inject together; travel and set-up are counted once.

    ``price`` is what was quoted or is meant for the job, ``margin`` the share of it left above the floor; None where
    some of its cracks are not ones to inject.
    """

    job_id: str
    cracks: int
    litres: Span
    minutes: Span
    hours: Span
    floor: Decimal | None
    target: Decimal | None
    price: Decimal | None
    margin: float | None
