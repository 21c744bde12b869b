"""How complete the records are: what is filled, what is missing, and what each gap costs the estimates."""

import polars as pl

from analytics.answers import quality as answering
from analytics.answers.quality import Quality
from analytics.answers.quality_sentences import gap_words, jump_words, twin_words
from analytics.answers.records import Records
from analytics.charts.heat import share_grid
from analytics.contract import words
from analytics.contract.descriptions import label
from analytics.decisions.changed_meaning import DEGREES, FACTOR, LEAST_JOBS
from analytics.decisions.quiet_months import AROUND_MONTHS
from analytics.pages.page import Chart, Column, Page, Part, Said, Section, Table, Words
from analytics.stats.multiplicity import FALSE_DISCOVERIES

PATH = "quality"
TITLE = "Gaps"
MOST_YEARS = 8
"""The latest years, so that the numbers still fit a phone."""
ALL_FILLED = 0.995
"""A column filled this well in every year is not drawn."""

WORKED_OUT = f"""
**Filled.** The share of finished work (jobs, cracks) and of calls that has each column filled, by the year of the work
or of the call. Left out: keys, columns every row must have, and the warranty, whose blank means the life of the house.

**Rests on.** Of the rows an estimate speaks of, those with everything it needs; the others are left out of it. That is
fair where what is missing is like the rest, and nobody can tell from the records whether it is.

**Jumps.** Each measurement's median over the jobs of a year against the next year with at least {LEAST_JOBS} jobs, one
value a job. Named is a jump that is surely more than {FACTOR:g} times ({DEGREES:g} °C for a temperature), with at most
{FALSE_DISCOVERIES:.0%} of those named by chance (Price & Bonett 2001 for the median's error; Benjamini & Hochberg
1995). The factor is ours: a unit that changed without a word moves a median by far more.

**Gaps.** Months without a row where the {AROUND_MONTHS} months on each side had so many that chance empties them less
than once in ten thousand times. A business that was closed has nothing to mend.

**Two spellings.** Numbers and names that differ only in capitals, spaces, dashes or underscores.
"""


def build(records: Records, said: Said) -> Page:
    """The state of the records."""
    del said
    return shown(answering.quality(records))


def shown(found: Quality) -> Page:
    """One state of the records as a page; what ``leakback quality`` prints too."""
    if not found.grounds:
        return Page("No finished work is loaded yet.", wanting="Load jobs that are done, with their cracks.")
    return Page(
        answer=_answer(found),
        parts=(
            *_grid(found),
            Section("What the gaps cost", (_costs(found),)),
            Section("Columns that jumped", (_listed([jump_words(jump) for jump in found.jumps], _no_jump(found)),)),
            Section("Months with nothing written down", (_listed(list(map(gap_words, found.gaps)), "No such month."),)),
            Section("One thing in two spellings", (_listed(_twins(found), "No two spellings of one number or name."),)),
            Section("Filled, by column", (_filled(found),)),
        ),
        worked_out=WORKED_OUT,
    )


def _answer(found: Quality) -> str:
    thinnest = found.grounds[0]
    odd = len(found.jumps) + len(found.gaps) + found.twins.height
    look = f"{words.counted(odd, 'more thing')} to look at" if odd else "nothing else stands out"
    if thinnest.usable == thinnest.rows:
        return f"Everything the estimates need is written down; {look}."
    return f"{words.capital(thinnest.says)}; {look}."


def _no_jump(found: Quality) -> str:
    if not found.tried:
        return f"No two years with {LEAST_JOBS} jobs each to compare yet."
    return f"No column's median jumped, of {words.counted(found.tried, 'pair')} of years compared."


def _grid(found: Quality) -> tuple[Part, ...]:
    """The columns with something missing, by year; nothing where all are filled."""
    years = found.filled["year"].unique().sort().to_list()[-MOST_YEARS:]
    cells = (
        found.filled.filter(pl.col("year").is_in(years))
        .with_columns(share=pl.col("filled") / pl.col("row_count"), row=_name(), column=pl.col("year"))
        .filter((pl.col("share") < ALL_FILLED).any().over("table_name", "column_name"))
        .sort("column")
    )
    wanting = cells.group_by("row").agg(pl.col("share").mean().alias("mean"))
    cells = cells.join(wanting, on="row").sort("mean", "row", "column")
    plot = share_grid(cells.select("row", "column", "share"))
    if plot is None:
        return (Words(f"Every column is at least {words.percent(ALL_FILLED)} filled in every year."),)
    whole = found.filled.select("table_name", "column_name").n_unique() - wanting.height
    others = words.counted(whole, "other column is", "other columns are")
    blank = " A blank: no such row that year." if cells.height < wanting.height * len(years) else ""
    note = f"Percent filled, by year; {others} at least {words.percent(ALL_FILLED)} filled.{blank}"
    return (Chart((plot,), _answer(found), note),)


def _name() -> pl.Expr:
    said = pl.col("column_name").map_elements(label, return_dtype=pl.String)
    return pl.when(pl.col("table_name") == "callbacks").then(pl.format("{} of calls", said)).otherwise(said)


def _costs(found: Quality) -> Table:
    rows = [{"says": each.says, "share": each.share, "rows": each.rows} for each in found.grounds]
    columns = (
        Column("says", "what is missing, and what it costs"),
        Column("share", "usable", kind="percent", help="of the rows the estimate speaks of"),
        Column("rows", "rows in all", kind="number"),
    )
    return Table(columns, pl.DataFrame(rows), "What the gaps cost")


def _twins(found: Quality) -> list[str]:
    return [twin_words(row) for row in found.twins.to_dicts()]


def _listed(sentences: list[str], none: str) -> Part:
    if not sentences:
        return Words(none, tone="muted")
    rows = pl.DataFrame({"says": list(map(words.sentence, sentences))})
    return Table((Column("says", "to look at"),), rows, "To look at")


def _filled(found: Quality) -> Table:
    rows = (
        found.filled.group_by("table_name", "column_name")
        .agg(pl.col("row_count").sum(), pl.col("filled").sum())
        .with_columns(share=pl.col("filled") / pl.col("row_count"), name=_name())
        .sort("share", "table_name", "name")
    )
    columns = (
        Column("name", "column"),
        Column("share", "filled", kind="percent"),
        Column("filled", "rows filled", kind="number"),
        Column("row_count", "rows in all", kind="number"),
    )
    return Table(columns, rows, "Filled, by column")
