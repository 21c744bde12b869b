"""What has to be set aside for leak-backs on work under warranty."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import polars as pl

from analytics import risk
from analytics.answers import currencies
from analytics.answers.modelling import current, not_kept_up
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.steady import steady, steady_rows
from analytics.contract import words
from analytics.contract.ages import months_of
from analytics.contract.bounds import RESERVE_LEVEL, require_level
from analytics.contract.rows import Rows
from analytics.decisions import reserving
from analytics.decisions.costs import RatesInForce, each_leak_back, leak_back_cost
from analytics.decisions.quarters import quarter_before
from analytics.decisions.reserve_ladder import LadderCheck, ladder_check
from analytics.decisions.reserve_moves import Move, Moves, ReserveBasis, moved
from analytics.decisions.reserving import BY_QUARTER, FEWEST_COSTS, Outlook, Reserve
from analytics.errors import LeakbackError, TooFewError
from analytics.risk import FEATURES, Estimate, HazardModel, fit
from analytics.store import Ask

Costs = tuple[float, ...]
READ = (*risk.READ, "warranty_ends_on", "year")
"""What is read of the done cracks."""
NO_COSTS = "The cost is not shown: "


@dataclass(frozen=True)
class Reserved:
    """The reserve as of a day; ``reserve`` None where there is nothing to go on, and ``said`` why.

    ``moved`` tells how it came from the reserve of an earlier day, ``ladder`` is the cross-check; None where there is
    too little for either. ``costs`` counts the leak-backs whose cost is known; ``notes`` are sentences to be shown.
    """

    as_of: date | None
    level: float
    reserve: Reserve | None
    moved: Moves | None
    ladder: LadderCheck | None
    costs: int
    currency: str
    oldest_months: float
    said: str
    notes: tuple[str, ...]

    def answer(self) -> dict[str, Any]:
        """The contract's answer; amounts are estimates, in ``currency``."""
        found = self.reserve
        return {
            "as_of": self.as_of,
            "level": self.level,
            "currency": self.currency,
            **_range(found.leak_backs if found else None, "expected_leak_backs", "low", "high"),
            **_range(found.cost if found else None, "expected_cost", "cost_low", "cost_high"),
            "cracks": found.cracks if found else 0,
            "by_quarter": _rows(found.by_quarter) if found else Rows((), BY_QUARTER),
            "by_year_of_work": _rows(found.by_year) if found else [],
            "moved": self.moved and _moved(self.moved),
            "chain_ladder": self.ladder
            and {
                "years": self.ladder.years,
                "expected_leak_backs": steady(self.ladder.expected),
                "standard_error": steady(self.ladder.error),
                "by_hazard_over_the_same_span": steady(self.ladder.by_hazard),
            },
            "share_past_oldest_age": steady(found.past_oldest) if found else None,
            "oldest_months": steady(self.oldest_months),
            "leak_backs_costed": self.costs,
            "said": self.said,
            "notes": list(self.notes),
        }


def reserve(records: Records, *, level: float = RESERVE_LEVEL, since: date | None = None) -> Reserved:
    """The reserve of these records, and how it moved since a day (the end of the last quarter unless given)."""
    require_level(level)
    found, outlook = _before_any_level(records, since)
    return replace(found, level=level, reserve=outlook.at(level) if outlook else None)


@remembered
def _before_any_level(records: Records, since: date | None) -> tuple[Reserved, Outlook | None]:
    """All of the reserve but its intervals, and what these are read from."""
    rates = RatesInForce.of(records.ask("current_rates"))
    costs, no_costs = _costs(records.ask, rates)
    modelled = current(records)
    model, as_of, follow_up = modelled.model, records.as_of, records.ask("follow_up", read=READ)
    nothing = Reserved(as_of, 0.0, None, None, None, len(costs), rates.currency, 0.0, modelled.said, ())
    if model is None or as_of is None:
        return nothing, None
    try:
        outlook = reserving.outlook(model, follow_up, as_of, costs)
    except TooFewError as error:
        return replace(nothing, said=str(error)), None
    day = quarter_before(as_of) if since is None else since
    if day >= as_of:
        raise LeakbackError(f"--since {day}: give a day before {as_of}, the day the records reach")
    then, not_moved = _moved_since(records, ReserveBasis(as_of, follow_up, model, _mean(costs)), day)
    ladder, no_ladder = _ladder(model, follow_up, as_of)
    oldest = months_of(model.oldest_days)
    again = _not_their_first(records, follow_up)
    notes = [
        no_costs,
        *currencies.left_out(records),
        not_kept_up(model),
        again,
        *_reach(outlook, oldest),
        not_moved,
        no_ladder,
        *model.notes,
    ]
    told = tuple(note for note in notes if note)
    return replace(nothing, moved=then, ladder=ladder, oldest_months=oldest, notes=told), outlook


def _costs(ask: Ask, rates: RatesInForce) -> tuple[Costs, str]:
    """What each leak-back cost at these rates, none where that cannot be said, and why."""
    leak_backs = ask("leak_back_costs")
    try:
        rates.need("labour_hour")
        costs = tuple(map(float, each_leak_back(leak_backs, rates)))
    except LeakbackError as error:
        return (), f"{NO_COSTS}{error}."
    if len(costs) < FEWEST_COSTS:
        known = words.counted(len(costs), "leak-back has its", "leak-backs have their")
        return costs, f"{NO_COSTS}{known} labour recorded; {FEWEST_COSTS - len(costs)} more would do."
    found = leak_back_cost(leak_backs, rates)
    return costs, " ".join(found.notes) if found else ""


def _reach(found: Outlook, oldest_months: float) -> list[str]:
    """What the reserve rests on beyond what anybody has seen."""
    notes = []
    if found.open_ended:
        endless = words.counted(found.open_ended, "crack has", "cracks have")
        notes.append(
            f"{endless} a warranty without end: their leak-backs are counted to the oldest age seen, "
            f"{oldest_months:.0f} months, and not beyond."
        )
    if found.past_oldest > 0:
        notes.append(
            f"{100 * found.past_oldest:.1f} % of the leak-backs expected lie at ages over {oldest_months:.0f} months, "
            "which no repair has reached yet: there the rate of the oldest age is held as it is."
        )
    return notes


def _not_their_first(records: Records, follow_up: pl.DataFrame) -> str:
    """That what leaked back may do so again and is left out; nothing where no crack under warranty has leaked back."""
    ends = pl.col("warranty_ends_on")
    leaked = follow_up.filter(pl.col("leaked_back") & (ends.is_null() | (ends > records.as_of))).height
    if not leaked:
        return ""
    cracks = words.counted(leaked, "crack under warranty has", "cracks under warranty have")
    calls = records.ask("placed_leak_backs")
    firsts, rated = calls["crack_id"].n_unique(), int(follow_up["leaked_back"].sum())
    again, late = calls.height - firsts, firsts - rated
    apart = [f"{words.number(again)} came after their crack's first"] if again else []
    apart += [f"{words.number(late)} outside its warranty"] if late else []
    so_far = (
        f" Of {words.counted(calls.height, 'leak-back')} so far, {words.listed(apart)}; rates and risks count "
        f"the other {words.number(rated)}."
    )
    return f"Second leak-backs are not counted: {cracks} leaked back already.{so_far if apart else ''}"


def _moved_since(records: Records, now: ReserveBasis, day: date) -> tuple[Moves | None, str]:
    """How the reserve moved since ``day``, or why that cannot be said."""
    ask = Ask(records.store, day, records.policy.hemisphere)
    then, full = ask("follow_up", read=READ), now.model.chosen != "base_rate"
    try:
        earlier = fit(then, day, now.model.penalties, FEATURES if full else (), with_crews=full)
    except TooFewError as error:
        return None, f"How it moved since {day} cannot be said: {error}"
    at_the_time, _ = _costs(ask, RatesInForce.of(ask("current_rates")))
    at_later_rates, _ = _costs(ask, RatesInForce.of(records.ask("current_rates")))
    return moved(ReserveBasis(day, then, earlier, _mean(at_the_time), _mean(at_later_rates)), now), ""


def _ladder(model: HazardModel, follow_up: pl.DataFrame, as_of: date) -> tuple[LadderCheck | None, str]:
    try:
        return ladder_check(model, follow_up, as_of), ""
    except TooFewError as error:
        return None, f"No cross-check: {error}"


def _mean(costs: Costs) -> float | None:
    return sum(costs) / len(costs) if len(costs) >= FEWEST_COSTS else None


def _range(found: Estimate | None, *keys: str) -> dict[str, float | None]:
    values = (found.value, found.low, found.high) if found else (None, None, None)
    return {key: steady(value) for key, value in zip(keys, values, strict=True)}


def _moved(found: Moves) -> dict[str, Any]:
    rows = [{"reason": move.reason, **_amounts(move)} for move in found.moves]
    return {"since": found.since, "opening": _amounts(found.opening), "rows": rows, "closing": _amounts(found.closing)}


def _amounts(move: Move) -> dict[str, float | None]:
    return {"leak_backs": steady(move.leak_backs), "cost": steady(move.cost)}


def _rows(found: pl.DataFrame) -> Rows:
    return Rows.of(steady_rows(found))
