"""What finished work teaches about the next crack, learnt once for the records it rests on."""

from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from pathlib import Path

import polars as pl

from analytics.answers import currencies, modelling
from analytics.answers.records import Records
from analytics.answers.standing import allowed
from analytics.contract import words
from analytics.decisions.comparable import MEASUREMENTS, finished_cracks
from analytics.decisions.costs import NO_LEAK_BACK_COST, RatesInForce, leak_back_cost
from analytics.decisions.estimating import Quantity, WorkModel, learn
from analytics.decisions.quote_check import Basis
from analytics.errors import TooFewError

KEPT = 4
READ = (
    *("crack_id", "job_id", "crew_id", "done_on", "warranty_months", "watched_days", "leaked_back"),
    *("port_spacing_mm", "resin_litres", "labour_minutes"),
    *MEASUREMENTS,
)
"""What is read of the done cracks."""


@dataclass(frozen=True)
class _Standing:
    """The records as they stand: equal where nothing that was learnt can have changed."""

    path: Path
    state: tuple[int, int, int]
    as_of: date | None
    hemisphere: str
    may_fit: bool
    records: Records = field(compare=False)


def basis(records: Records) -> Basis:
    """What quotes are checked against, from memory where the records have not changed since."""
    path = records.store.path.resolve()
    stat = path.stat()  # never opened here: that could drop another program's lock
    state = (stat.st_mtime_ns, stat.st_size, stat.st_ino)
    return _learnt(_Standing(path, state, records.as_of, records.policy.hemisphere, allowed("fit"), records))


@lru_cache(maxsize=KEPT)
def _learnt(standing: _Standing) -> Basis:
    records = standing.records
    done = records.ask("follow_up", read=READ)
    litres, no_litres = _work("resin_litres", done)
    minutes, no_minutes = _work("labour_minutes", done)
    reference = finished_cracks(done)
    del done  # of very many cracks only the latest are held while a model is fitted
    modelled = modelling.current(records)
    rates = RatesInForce.of(records.ask("current_rates"))
    cost = leak_back_cost(records.ask("leak_back_costs"), rates)
    no_model = words.sentence(f"Leak-backs are not in the floor: {modelled.said}") if modelled.model is None else ""
    no_cost = NO_LEAK_BACK_COST if cost is None else " ".join(cost.notes)
    risks = modelling.one_rate(modelled.model), modelling.not_kept_up(modelled.model)
    texts = (no_litres, no_minutes, no_model or modelled.said, no_cost, *currencies.left_out(records), *risks)
    said = tuple(text for text in texts if text)
    priced = replace(reference, cracks=_with_prices(records, reference.cracks))
    return Basis(litres, minutes, priced, modelled.model, cost, rates, said, no_model)


def _work(quantity: Quantity, done: pl.DataFrame) -> tuple[WorkModel | None, str]:
    try:
        return learn(quantity, done), ""
    except TooFewError as error:
        return None, str(error)


def _with_prices(records: Records, done: pl.DataFrame) -> pl.DataFrame:
    """Done cracks with price (their share of the charge) and price_per_metre, at today's hourly labour rate."""
    priced = done.join(records.ask("crack_prices"), on="crack_id", how="left", maintain_order="left")
    wage = pl.col("labour_hour_now") / pl.col("labour_hour_then")
    return priced.with_columns(
        price=pl.col("price_share"), price_per_metre=pl.col("price_share") * wage / pl.col("length_m")
    )
