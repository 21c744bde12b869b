"""Finished cracks that took far more resin than they should have, and what that came to."""

from dataclasses import asdict, dataclass
from decimal import Decimal

from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.decisions.costs import RatesInForce, exact, to_cent
from analytics.decisions.estimating import READ
from analytics.decisions.take_ratio import TakeWatch, watch
from analytics.errors import LeakbackError, TooFewError


@dataclass(frozen=True)
class Watched:
    """The watch, None where there is too little history (``said`` why); the cost of the resin beyond what is explained.

    ``cost`` is at today's rates, None where one is missing.
    """

    watch: TakeWatch | None
    litres: float
    cost: Decimal | None
    currency: str
    said: str

    def answer(self) -> dict[str, object]:
        """The answer as plain data."""
        found = self.watch
        rows = [] if found is None else [asdict(each) for each in found.excesses]
        counts = {} if found is None else {"cracks": found.cracks, "by_chance": found.by_chance, "under": found.under}
        return {**counts, "litres": self.litres, "cost": self.cost, "currency": self.currency, "rows": rows}


@remembered
def watch_take(records: Records) -> Watched:
    """The cracks of the records beyond what geometry, water and crew explain."""
    try:
        found = watch(records.ask("follow_up", read=(*READ, "resin_litres")))
    except TooFewError as error:
        return Watched(None, 0.0, None, "", str(error))
    rates = RatesInForce.of(records.ask("current_rates"))
    beyond = [(each.resin, each.litres - each.explained) for each in found.excesses]
    try:
        cost = to_cent(sum((exact(litres) * rates.need(f"{resin}_litre") for resin, litres in beyond), Decimal(0)))
    except LeakbackError:
        cost = None
    return Watched(found, sum(litres for _, litres in beyond), cost, rates.currency, "")
