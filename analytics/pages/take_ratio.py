"""Resin used beyond the crack: finished cracks that took far more than they explain, and the likely reading of each."""

from dataclasses import asdict

import polars as pl

from analytics.answers.records import Records
from analytics.answers.take_watching import Watched, watch_take
from analytics.charts.dots import labelled_dots
from analytics.contract import words
from analytics.contract.roles import PRICES_PAGE, RECORD_PAGE
from analytics.decisions.take_ratio import Excess, TakeWatch
from analytics.pages.page import Chart, Column, Page, Part, Said, Section, Table, Words

PATH, TITLE = "take-ratio", "Resin use"
MOST_DRAWN = 12
WORKED_OUT = """
**What is compared.** The litres used on every finished crack with what its void, length, width, ports, water, access,
resin and crew explain: a regression of the logs, fitted to all of them, each crew's own take shrunk by how much crews
differ.

**The cut.** What is left over is measured in robust standard deviations (1.4826 times the median absolute deviation, by
resin), so that the odd ones cannot hide themselves. It is set where, with errors of a normal shape, one crack of all
would be listed by chance. How many lie as far on the other side is shown beside it: nothing makes a crack take so much
less, so those are slips of measuring and writing down, and as many of the listed ones may be.

**The likely reading.** A crew with more jobs listed than its share of the jobs explains (binomial, 1 % over all crews):
waste. A width that would only have to be half a millimetre more (our own choice, no source): measured too small.
Otherwise an empty space behind the wall that swallowed the resin. Beside each, where a tenth of the litres would be as
near the middle as 95 % of the cracks are (our own choice, no source): a decimal point written a place too far on. A
reading, not a finding: look at the job.
"""


def build(records: Records, said: Said) -> Page:
    """The list of the records."""
    del said
    return card(watch_take(records))


def card(found: Watched) -> Page:
    """A watch as a page."""
    watch = found.watch
    if watch is None:
        answer = "Too little finished work to tell which cracks took too much resin."
        return Page(answer, wanting=words.sentence(found.said))
    return Page(
        answer=_answer(found, watch),
        parts=(*_cost(found), *_chart(watch), _table(watch)) if watch.excesses else (),
        worked_out=WORKED_OUT,
    )


def _answer(found: Watched, watch: TakeWatch) -> str:
    looked = words.counted(watch.cracks, "finished crack")
    if not watch.excesses:
        return f"Of {looked}, none took more resin than its size, its water and its crew explain."
    many = words.counted(len(watch.excesses), "took", "took")
    chance = words.number(watch.by_chance)
    under = words.number(watch.under) if watch.under else "none"
    return (
        f"Of {looked}, {many} far more resin than size, water and crew explain: {words.number(found.litres, 1, 'L')} "
        f"more. By chance alone about {chance} would be listed; {under} took as much less."
    )


def _cost(found: Watched) -> tuple[Section, ...]:
    """What the resin beyond cost, for whom prices are open; nothing where a rate is missing."""
    if found.cost is None:
        return ()
    said = f"{words.number(found.litres, 1, 'L')} at today's rates: {words.number(found.cost, 0, found.currency)}."
    return (Section("What that resin cost", (Words(said),), holds=(PRICES_PAGE,)),)


def _chart(watch: TakeWatch) -> tuple[Part, ...]:
    """Litres used against what explains them, the largest excess first."""
    rows = [
        {
            "label": _label(each),
            "value": each.litres,
            "low": each.explained,
            "high": each.litres,
            "tone": each.resin if each.resin in {"epoxy", "urethane_foam"} else "accent",
        }
        for each in watch.excesses[:MOST_DRAWN]
    ]
    plot = labelled_dots(pl.DataFrame(rows), unit="L")
    alt = "Litres used on each listed crack, with a line from what its size, water and crew explain."
    more = len(watch.excesses) - MOST_DRAWN
    note = f"The {MOST_DRAWN} largest; {words.number(more)} more in the table." if more > 0 else ""
    return (Chart((plot,), alt, note),) if plot else ()


def _label(each: Excess) -> str:
    used, explained = words.number(each.litres, 2, "L"), words.number(each.explained, 2, "L")
    return f"{each.crack_id}, {words.word(each.resin)}: {used}, {explained} explained"


def _table(watch: TakeWatch) -> Table:
    columns = (
        Column("job_id", "job", under="crew_id", link=RECORD_PAGE),
        Column("crack_id", "crack"),
        Column("litres", "used", kind="number", unit="L", digits=2),
        Column("explained", "explained", kind="number", unit="L", digits=2, help="the middle of what such cracks take"),
        Column("times", "times", kind="number", unit="×", digits=1),
        Column("width_mm", "width", kind="number", unit="mm", digits=2),
        Column("reading", "likely reading"),
        Column("why", "why"),
    )
    schema = {name: pl.Float64 if "float" in str(kind) else pl.String for name, kind in Excess.__annotations__.items()}
    rows = pl.DataFrame([asdict(each) for each in watch.excesses], schema=schema)
    slip = pl.when(pl.col("slip") != "").then(pl.format(", {}", "slip")).otherwise(pl.lit(""))
    return Table(columns, rows.with_columns(reading=pl.col("reading") + slip), title="Resin beyond")
