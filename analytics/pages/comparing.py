"""Materials or seasons on the same cracks: the fair rates beside the plain ones, and why they differ."""

import polars as pl

from analytics.answers.comparing import Comparison
from analytics.charts.dots import interval_dots
from analytics.charts.palette import SERIES
from analytics.contract import words
from analytics.pages import narrowing
from analytics.pages.page import Caution, Chart, Column, Figure, Figures, Page, Part, Section, Table, Words
from analytics.risk import CAUTION, MOST_MEMBERS, PAIR

WORKED_OUT = f"""
**Same cracks.** A hazard model with every recorded fact (water, width, movement, season, crew, steps done and the rest)
says how often *all* these cracks would have leaked back had each been done one way, then the other: standardisation, or
g-computation (Robins 1986). The model is the one behind the risks, fitted with hardly any shrinkage, for a penalty that
foretells best pulls every effect towards none. Where more than {words.number(MOST_MEMBERS)} cracks
of a kind got one choice, as many stand for all of them, taken evenly over their days.

**Intervals.** From the model's covariance, cracks of one job together, by the delta method. **Kind by kind** is the
ratio of leak-backs per year watched within strata alike in the facts named, pooled over them (Mantel and Haenszel),
without a model: a second opinion, its interval widened where cracks of one job leak together. **To explain it away**:
how many times likelier something unrecorded would have to make both the choice and the leak-back (E-value, VanderWeele
and Ding 2017). **Plain curves** are set against chance by the log-rank test, by job (p-value).

**One factor.** A choice is taken to make leak-backs so many times as frequent at every age; the pooled ratio, of the
months asked about, takes no such thing, so where the two lie apart the effect may change with age. Differences are
called beyond chance so that at most one in twenty of those named is false, whatever the intervals' level.

**Limits.** Only what was written down is made alike. Kinds of crack that never, or hardly ever, got one of the choices
are named and left out: nothing is known of how that would have gone.
"""
COLD = "The wall's temperature is part of all else: what cold walls do is not counted as the season's doing."
SAME = "on the same cracks"
POOLED = "plain rates compared within each kind of crack and put together: a check without a model"


def build(found: Comparison) -> Page:
    """What ``leakback compare`` prints."""
    return Page(answer=found.sentence(), parts=parts(found), worked_out=WORKED_OUT)


def parts(found: Comparison) -> tuple[Part, ...]:
    """The comparison's parts: a picture, the reasons, the tables, the checks, the caution."""
    why = (Words(found.why()),) if found.why() else ()
    left = tuple(Words(f"Left out, for too few of one choice: {said}.", tone="muted") for said in found.left_out)
    cold = (Words(COLD, tone="muted"),) if found.by.name == "season" and not found.said else ()
    return (*_dots(found), *why, _rates(found), *_strata(found), *cold, *left, *_checks(found), *_caution(found))


def _dots(found: Comparison) -> tuple[Chart, ...]:
    plain = found.rows.select(
        pl.col("choice").alias(found.by.name),
        group=pl.format("{} on its own", "choice"),
        value="crude",
        low="crude_low",
        high="crude_high",
        count="cracks",
    ).with_columns(tone=pl.lit("muted"))
    tones = {choice: choice for choice in SERIES}
    same = found.rows.select(
        pl.col("choice").alias(found.by.name),
        pl.format("{} on all", "choice").alias("group"),
        "value",
        "low",
        "high",
        count=pl.lit(found.cracks, pl.Int64),
        tone=pl.col("choice").replace_strict(tones, default="accent"),
    ).filter(pl.col("value").is_not_null())
    plot = interval_dots(pl.concat([same, plain]))
    alt = f"Leak-backs within {found.months} months by {found.by.words}: on the same cracks, and the plain rates."
    return (Chart((plot,), alt, picks=(found.by.name,)),) if plot else ()


def _rates(found: Comparison) -> Table:
    return Table(
        (
            Column(found.by.name, found.by.words, link=f"{narrowing.PATH}?months={found.months}"),
            Column("value", SAME, kind="percent", low="low", high="high", help="had all of them been done this way"),
            Column("crude", "plain rate", kind="percent", low="crude_low", high="crude_high", help="of its own cracks"),
            Column("cracks", "its own cracks", kind="number"),
            Column("leak_backs", "leak-backs", kind="number"),
        ),
        _worded(found.rows.rename({"choice": found.by.name})),
        title=f"Leak-backs within {found.months} months by {found.by.words}",
    )


def _strata(found: Comparison) -> tuple[Section, ...]:
    """The kinds of crack, each with its count and, of two choices, its rate under both."""
    if found.strata.is_empty():
        return ()
    keys = [column for column in found.strata.columns if column not in {*_STRATUM, "choice"}]
    choices = found.rows["choice"].to_list()
    rows = _worded(found.strata).pivot("choice", index=keys, values=["cracks", "value", "low", "high"])
    columns = [Column(key, words.word(key)) for key in keys]
    for choice in map(words.word, choices):
        columns.append(Column(f"cracks_{choice}", f"cracks, {choice}", kind="number"))
        if len(choices) == PAIR:
            value, low, high = (f"{part}_{choice}" for part in ("value", "low", "high"))
            columns.append(Column(value, f"{choice}, {SAME}", kind="percent", low=low, high=high))
    return (Section("By kind of crack", (Table(tuple(columns), rows, title="Cracks and rates by kind of crack"),)),)


def _checks(found: Comparison) -> tuple[Section, ...]:
    """How far apart, and whether it stands up to other ways of looking."""
    if found.said:
        return ()
    figures = []
    for row in found.contrasts.filter("stands").iter_rows(named=True):
        ends = words.number(row["e_value_interval"], 1, "×")
        note = (
            "by so much something not written down would have to change how likely both the choice and a leak-back "
            f"are, to explain all of it; by {ends} to leave it to chance"
        )
        label = f"{words.word(row['choice'])}: a hidden cause would need"
        figures.append(Figure(label, row["e_value"], unit="×", digits=1, note=note))
    if found.log_rank is not None:
        label, note = "plain curves so far apart by chance", "of the time, were both as good"
        figures.append(Figure(label, found.log_rank.p_value, kind="percent", digits=1, note=note))
    parts: tuple[Part, ...] = (_ratios(found), *((Figures(tuple(figures)),) if figures else ()))
    return (Section("How far apart, and how sure", parts),)


def _ratios(found: Comparison) -> Table:
    against = "the other" if found.contrasts.height == 1 else "the others"
    columns = (
        Column("choice", found.by.words),
        Column("ratio", f"over {against}, {SAME}", "number", "×", low="ratio_low", high="ratio_high", digits=2),
        Column("pooled", "kind by kind", "number", "×", POOLED, low="pooled_low", high="pooled_high", digits=2),
    )
    return Table(columns, _worded(found.contrasts), title="Ratios of leak-backs")


def _caution(found: Comparison) -> tuple[Caution, ...]:
    return () if found.said else (Caution(f"This is {CAUTION}."),)


def _worded(rows: pl.DataFrame) -> pl.DataFrame:
    """Values of fixed lists as words."""
    return rows.with_columns(words.worded(*(name for name, kind in rows.schema.items() if kind == pl.String)))


_STRATUM = ("cracks", "leak_backs", "value", "low", "high", "kept")
