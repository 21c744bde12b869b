"""What is known of how far to trust a fitted model: how it did on later jobs, and whether the work has changed."""

from dataclasses import dataclass
from datetime import date
from typing import Literal


@dataclass(frozen=True)
class Estimate:
    """A value and its interval, at 95 % unless who made it says another level."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Bin:
    """Later cracks of about the same foreseen chance: the mean chance ``foreseen``, and the share ``seen`` to leak.

    ``seen`` is None where too few were still watched at the horizon; ``leak_backs`` are those up to it.
    """

    cracks: int
    leak_backs: int
    watched: int
    foreseen: float
    seen: Estimate | None


@dataclass(frozen=True)
class Challenge:
    """The hazard with boosted trees on top against the hazard alone, on the same later cracks.

    ``margin`` is the log score the trees gained a leak-back, ``error`` its standard error; they win past one standard
    error. ``rounds`` is 0 where, before the later jobs, they found nothing to add.
    """

    winner: Literal["hazard", "boosted"]
    margin: Estimate
    error: float
    rounds: int
    words: str


@dataclass(frozen=True)
class Verdict:
    """How risks worked out before ``cut`` did on the ``cracks`` of jobs done since, of which ``leak_backs`` leaked.

    ``gain`` is the base rate's Brier value less the model's (both at ``months``); ``ratio`` observed over expected
    leak-backs; ``slope`` the change of the log hazard per unit of what was foreseen, 1 where risks are spread as
    they should be; ``concordance`` the share of pairs ranked rightly.
    """

    cut: date
    months: int
    cracks: int
    leak_backs: int
    brier: float
    base_brier: float
    gain: Estimate
    concordance: Estimate
    expected: float
    ratio: Estimate
    slope: Estimate
    better: bool
    words: str
    reliability: tuple[Bin, ...]
    challenge: Challenge | None


@dataclass(frozen=True)
class Moved:
    """How far one measurement of the latest year's cracks lies from the earlier ones'.

    ``index`` is the population stability index, ``by_chance`` what it would be on average had nothing moved;
    ``stands`` whether it is more than chance makes of so many measurements. ``group`` is the group that moved most,
    with its shares ``before`` and ``after``.
    """

    measurement: str
    index: float
    by_chance: float
    stands: bool
    group: str
    before: float
    after: float


@dataclass(frozen=True)
class Drift:
    """The latest year against all years before it.

    ``leak_backs`` seen in the time watched since ``since``, of cracks of any age, against those ``expected`` from
    the records as they stood that day; ``ratio`` takes in what both leave open. ``moved`` has the largest first.
    """

    since: date
    leak_backs: int
    expected: float
    ratio: Estimate
    moved: tuple[Moved, ...]
    words: str
