"""Which repairs leak back: by material and season, or any other grouping, with curves and those still watched."""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import polars as pl

from analytics import metrics
from analytics.answers import comparing
from analytics.answers.records import Records
from analytics.charts.curves import leak_back_curves
from analytics.charts.dots import interval_dots
from analytics.contract import words
from analytics.contract.bounds import USUAL_LEVEL
from analytics.contract.dimensions import DIMENSIONS, Dimension, dimension
from analytics.contract.roles import CREWS_PAGE
from analytics.metrics import Measured
from analytics.pages import comparing as fair
from analytics.pages import measured, narrowing
from analytics.pages.ages_and_seasons import heat
from analytics.pages.page import Chart, Choice, Page, Part, Said, Section, Table, Words

RATE = metrics.METRICS["leak_back_rate"]
HORIZONS = {"12": "12 months", "24": "24 months", "60": "60 months"}
CURVE_MONTHS = (*range(1, 12), *range(12, 61, 2))
"""The horizons among them."""
NOT_NARROWED: Mapping[Dimension, str] = MappingProxyType({})
MOST_CURVES = 8
MOST_NAMED = 2
"""Groups of which too little is known to tell their rate, by name; more are counted."""
GROUPINGS = {"resin,season": "resin and season"} | {d.name: d.words for d in DIMENSIONS.values()}
USUAL = ("resin", "season")
"""What is compared first; the second where the first is narrowed to one."""
MONTHS = Choice("months", "Within", HORIZONS, "24")
WORKED_OUT = """
**Formula.** The unit is the crack; its event is the first leak-back under warranty. The rate at an age is one minus the
product-limit survival (Kaplan and Meier 1958), so a repair finished last week is not counted as one that held.
A crack is watched until its leak-back, the end of its warranty, or the day the records reach, whichever is first.

**Interval.** Log-log from Greenwood's variance, widened where cracks of one job leak together (infinitesimal
jackknife by job); with one to four leak-backs the exact interval on the effective number; with none, on those still
watched.

**Limits.** Nothing is shown past the last age at which 10 cracks are still watched, nor of fewer than 5 jobs. These are
plain rates, each of its own cracks: a group that gets the harder cracks leaks back more, whatever is done to them.
"""


def build(records: Records, said: Said) -> Page:
    """The leak-back rates by the chosen grouping."""
    months = int(MONTHS.of(said))
    only = narrowing.narrowed(records, said)
    grouping = by_choice(only)
    choices = (grouping, MONTHS, *narrowing.choices(records, tuple(only)))
    by = tuple(dimension(name) for name in grouping.of(said).split(","))
    overall = rates_by(records, (), months, only)
    if overall.rows.is_empty():
        return Page(
            answer="No finished repair to watch yet.",
            wanting="Load finished jobs with their cracks and callbacks.",
            choices=choices,
        )
    compared = comparing.compare(records, by[0].name, months=months) if _fairly(by) and not only else None
    if compared and not compared.said:
        return Page(
            answer=compared.sentence(),
            choices=choices,
            parts=(
                *fair.parts(compared),
                *_plain_curves(records, by),
                *heat(records, only),
                *_placed(records),
            ),
            worked_out=f"{fair.WORKED_OUT}\n**Plain rates.**\n{WORKED_OUT}",
        )
    rows = _every_age(records, by, only)
    rates = _at(months, by, rows)
    return Page(
        answer=_answer(rates, overall, narrowing.in_words(only)),
        choices=choices,
        parts=(
            *_curves(by, rows),
            _dots(rates),
            _linked(measured.table(rates), rates, months),
            *_of_crews(by),
            *heat(records, only),
            *_placed(records),
        ),
        worked_out=WORKED_OUT,
    )


def rates_by(
    records: Records, by: tuple[Dimension, ...], months: int, only: Mapping[Dimension, str] = NOT_NARROWED
) -> Measured:
    """The rates at one horizon. Every age of the curves is asked for at once: the next question is about another."""
    return _at(months, by, _every_age(records, by, only))


def _every_age(records: Records, by: tuple[Dimension, ...], only: Mapping[Dimension, str]) -> pl.DataFrame:
    return metrics.curves(records.ask, by, ages_months=CURVE_MONTHS, only=only)


def _at(months: int, by: tuple[Dimension, ...], rows: pl.DataFrame) -> Measured:
    return Measured(RATE, by, USUAL_LEVEL, months, rows.filter(pl.col("age_months") == months))


def by_choice(only: Mapping[Dimension, str]) -> Choice:
    """What can be compared: every grouping that is not narrowed to one value."""
    gone = {grouping.name for grouping in only}
    options = {names: said for names, said in GROUPINGS.items() if gone.isdisjoint(names.split(","))}
    return Choice("by", "Compare by", options, next((name for name in USUAL if name in options), next(iter(options))))


def _linked(table: Table, rates: Measured, months: int) -> Table:
    """The table, each group opening to its own figures."""
    if len(rates.by) > 1:
        return table
    first, *rest = table.columns
    return replace(table, columns=(replace(first, link=f"{narrowing.PATH}?months={months}"), *rest))


def _plain_curves(records: Records, by: tuple[Dimension, ...]) -> tuple[Part, ...]:
    curves = _curves(by, comparing.plain_rates(records, by[0].name, CURVE_MONTHS))
    return (Section("By age of the repair: plain rates of the kinds compared", curves),) if curves else ()


def _fairly(by: tuple[Dimension, ...]) -> bool:
    """Whether this grouping can be compared on the same cracks."""
    return len(by) == 1 and by[0].name in comparing.STRATA


def _answer(rates: Measured, overall: Measured, only: str) -> str:
    row = overall.rows.row(0, named=True)
    count, months = f"{words.counted(row['cracks'], 'repaired crack')}{only}", overall.months
    if row["value"] is None:
        return f"Too little to say yet how many repairs leak back within {months} months: {row['note']}."
    start = f"Of {count}, {measured.estimate(RATE, row)} leaked back within {months} months"
    known = rates.rows.drop_nulls("value").sort("value")
    if known.height < len(rates.by) + 1:
        return f"{start}."
    low, high = known.row(0, named=True), known.row(-1, named=True)
    return (
        f"{start}: from {measured.estimate(RATE, low)} for {_name(rates, low)} "
        f"to {measured.estimate(RATE, high)} for {_name(rates, high)}{_untold(rates)}."
    )


def _untold(rates: Measured) -> str:
    """That the least and the most leave groups out, of which too few are watched; nothing where every one is told."""
    untold = rates.rows.filter(pl.col("value").is_null())
    if untold.is_empty():
        return ""
    if untold.height > MOST_NAMED:
        return f"; too little to say for {words.out_of(untold.height, rates.rows.height, 'group')}"
    return f"; too little to say for {words.listed([_name(rates, row) for row in untold.iter_rows(named=True)])}"


def _name(rates: Measured, row: dict[str, object]) -> str:
    return ", ".join(words.word(str(row[d.name])) for d in rates.by)


def _grouped(by: tuple[Dimension, ...], rows: pl.DataFrame) -> pl.DataFrame:
    names = pl.concat_str([pl.col(d.name).cast(pl.String) for d in by], separator=" · ")
    return rows.with_columns(group=names)


def _curves(by: tuple[Dimension, ...], rows: pl.DataFrame) -> tuple[Part, ...]:
    """The curves, from month 0, of the groups of which any rate is known; a panel a season by material and season."""
    if rows.select(d.name for d in by).n_unique() > MOST_CURVES:
        return ()
    rows = rows.with_columns(group=pl.col("resin"), panel=pl.col("season")) if len(by) > 1 else _grouped(by, rows)
    keys = [key for key in ("group", "panel") if key in rows.columns]
    rows = rows.filter(pl.col("value").is_not_null().any().over(keys))
    steps = rows.select(
        *keys,
        pl.col("age_months").cast(pl.Float64).alias("month"),
        pl.col("value").alias("rate"),
        "low",
        "high",
        "watched",
    )
    starts = rows.group_by(keys, maintain_order=True).agg(
        month=pl.lit(0.0), rate=pl.lit(0.0), low=pl.lit(0.0), high=pl.lit(0.0), watched=pl.col("cracks").max()
    )
    plots = leak_back_curves(pl.concat([starts.select(steps.columns), steps]))
    alt = f"Share of cracks that leaked back by months after the repair, by {' and '.join(d.words for d in by)}."
    return (Chart(plots, alt),) if plots else ()


def _dots(rates: Measured) -> Part:
    known = rates.rows["value"].count()
    plot = interval_dots(_grouped(rates.by, rates.rows).rename({"cracks": "count"})) if known else None
    alt = f"Leak-back rate within {rates.months} months with its interval, a row a group."
    picks = tuple(grouping.name for grouping in rates.by)
    chart = (Chart((plot,), alt, picks=picks),) if plot else ()
    return Section(f"Within {rates.months} months", chart) if plot else Words("")


def _of_crews(by: tuple[Dimension, ...]) -> tuple[Part, ...]:
    """That plain rates are no judgement of a crew."""
    said = "Each crew's rate is of its own cracks: whether it is worse than they explain stands under Crews."
    crews = Words(said, "muted", (("Crews", CREWS_PAGE),))
    return (crews,) if any(grouping.name == "crew" for grouping in by) else ()


def _placed(records: Records) -> tuple[Part, ...]:
    placed = records.ask("unplaced_leak_backs").height
    if not placed:
        return ()
    said = (
        f"{words.counted(placed, 'leak-back names', 'leak-backs name')} no crack in a job of several: each is counted "
        "on its job's wettest, then widest crack until someone says which it was."
    )
    return (Words(said, tone="muted"),)
