"""What to charge: what a metre of each kind of crack costs with its leak-backs, and what it was sold for."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import polars as pl

from analytics.answers import pricing, scenarios
from analytics.answers.pricing import PriceBook
from analytics.answers.records import Records
from analytics.answers.scenarios import Priced
from analytics.answers.winning import Winning, winning
from analytics.charts.price_dots import price_dots
from analytics.contract import words
from analytics.contract.bounds import FEWEST_JOBS, USUAL_LEVEL
from analytics.contract.dimensions import DIMENSIONS
from analytics.contract.roles import PRICES_PAGE
from analytics.decisions.scenarios import AS_IT_IS
from analytics.pages import rates_set, scenario_forms, scenario_table, win_rates
from analytics.pages.page import Chart, Choice, Column, Folded, Page, Part, Said, Section, Table, Words
from analytics.pages.shortened import first_rows

PATH, TITLE = PRICES_PAGE, "Prices"
MOST_DRAWN, MOST_LISTED = 12, 24
ROOM_FOR_COUNT = 2
EVERY = ",".join(pricing.BY)
BY = Choice(
    "by",
    "By kind of work",
    {"resin,water": "resin and water", EVERY: "resin, width, access and water"}
    | {d.name: d.words for d in DIMENSIONS.values()},
    "resin,water",
)
MONTHS = Choice("months", "Work of the last", {"12": "12 months", "24": "24 months", "60": "60 months"}, "24")
TODAY = "At today's costs"
PERHAPS = "perhaps: the middle is below, the interval reaches above"
BUILT_UP = {
    "material": ("material", "resin, ports and seal"),
    "labour": ("labour", "with its share of the job's set-up"),
    "travel": ("travel", "its share of the job's"),
    "prep": ("extra prep", ""),
    "leak_back_cost": ("leak-backs", "each crack's chance of one under warranty, times what one costs"),
}
NOT_ALWAYS = ("prep", scenario_table.LEAK_BACKS)
"""What a book may leave out, as it is not asked for or not known: it is no column of noughts then."""
WORKED_OUT = """
**Cost.** At today's rates: litres, ports and seal; the person-minutes of the crack with its share of the job's set-up;
its share of the travel. A job's travel and set-up are shared over its cracks alike. Money of all cracks over metres of
all cracks, with the error taken between jobs (ratio estimator, Cochran 1977, ch. 6).

**Leak-backs.** The risk model's chance that a crack leaks back under its warranty, as known before the work, times what
the business's own leak-backs cost on average. A crack's second leak-back is not counted, nor is it in the reserve. All
kinds share that one model, so a rare kind leans on the others; its interval holds what the hazards and that cost leave
open.

**Floor and target.** Floor = cost + leak-backs. Target = floor ÷ (1 - margin), the margin being a share of the price.

**Charged.** A job's price is shared over its cracks as their labour minutes are. Prices of the months chosen stand
beside today's costs: would that price still do?

**Limits.** A kind with fewer than 5 jobs is left silent. Overheads are not in the floor: the margin has to carry them.
"""


def build(records: Records, said: Said) -> Page:
    """The price book by the chosen kinds; rates, scenarios and win rates beneath."""
    months = int(MONTHS.of(said))
    basis = pricing.basis(records, months)
    book = pricing.book(records, basis, BY.of(said).split(","), months=months, level=USUAL_LEVEL, scenario=AS_IT_IS)
    compared = scenarios.side_by_side(records, basis, months, USUAL_LEVEL)
    names = [each.name for each in compared if each.name != scenarios.AS_IT_IS_NAME]
    offered = scenario_forms.offered(records, names, book.currency)
    page = card(book, compared, winning(records), offered, rates=(rates_set.section(records),))
    return replace(page, choices=(BY, MONTHS))


def card(
    book: PriceBook,
    compared: Sequence[Priced],
    won: Winning | None = None,
    offered: tuple[Folded, ...] = (),
    costs: str = TODAY,
    rates: tuple[Section, ...] = (),
) -> Page:
    """A price book as a page at some ``costs``, in words; ``offered`` is what can be done about its scenarios.

    ``rates`` is where the rates stand and are set.
    """
    if book.rows.is_empty():
        return Page(answer="No prices yet.", parts=rates, wanting=" ".join(map(words.sentence, book.said)))
    unit = f"{book.currency}/m"
    return Page(
        answer=_answer(book, unit, costs),
        parts=(
            *_chart(book, unit),
            _table(book, unit),
            Section("What it is built up from", (_built_up(book, unit),)),
            *rates,
            *((scenario_table.section(compared, unit, offered),) if compared or offered else ()),
            *((win_rates.section(won, book.currency),) if won else ()),
            *(Words(text, tone="muted") for text in (*_left_out(book), *book.said)),
        ),
        worked_out=WORKED_OUT,
    )


def _answer(book: PriceBook, unit: str, costs: str) -> str:
    row, start = book.overall.row(0, named=True), f"{costs}, {_below_floor(book, unit)}"
    if row["cost_per_metre"] is None:
        return f"{start}; too few jobs to say what a metre costs."
    cracks, floor = words.counted(row["cracks"], "crack"), _said(row, "floor", unit)
    target = f", the target {_said(row, 'target', unit)}" if row["target_per_metre"] is not None else ""
    return f"{start}: over {cracks} the floor is {floor}{target}{_charge(row, book, unit)}{words.at_level(book.level)}."


def _charge(row: Mapping[str, Any], book: PriceBook, unit: str) -> str:
    """What was charged, and what that leaves above the floor beside what is aimed at."""
    if row["charged_per_metre"] is None:
        return ""
    left = words.percent(row["left_per_metre"] / row["charged_per_metre"], 0)
    aimed = f" where {words.percent(book.margin, 0)} is aimed at" if book.margin is not None else ""
    return f", the charge {_said(row, 'charged', unit)}, which leaves {left}{aimed}"


def _below_floor(book: PriceBook, unit: str) -> str:
    """Which kinds of work were sold below their floor, of those that have jobs enough to tell."""
    counts = Counter(book.rows["below"].drop_nulls())
    told, below, span = counts.total(), counts["yes"], f"work of the last {book.months} months"
    if not told:
        return f"no kind of {span} has jobs enough to be held against its floor"
    if below:
        worst = book.rows.filter(below="yes").row(0, named=True)
        were = f"{words.counted(below, 'kind')} of {span} {'was' if below == 1 else 'were'} sold below the floor"
        return f"{were}, {kind(worst, book)} most, at {_said(worst, 'left', unit)}"
    known = f"of {span}" if told == book.rows.height else f"of {span} with jobs enough to tell"
    surely, perhaps = ("surely ", f", {words.number(counts['perhaps'])} perhaps") if counts["perhaps"] else ("", "")
    none = f"none of {words.number(told)} kinds {known} was" if told > 1 else f"the one kind {known} was not"
    return f"{none} {surely}sold below its floor{perhaps}"


def kind(row: Mapping[str, Any], book: PriceBook) -> str:
    """One kind of work in words: ``urethane foam, running``."""
    return ", ".join(words.word(str(row[d.name])) for d in book.by) or "all cracks"


def _said(row: Mapping[str, Any], name: str, unit: str) -> str:
    return words.estimate(row[f"{name}_per_metre"], row[f"{name}_low"], row[f"{name}_high"], 0, unit)


_DRAWN = {
    "charged": "charged_per_metre",
    "target": "target_per_metre",
    "floor": "floor_per_metre",
    "floor_low": "floor_low",
    "floor_high": "floor_high",
}


def _chart(book: PriceBook, unit: str) -> tuple[Part, ...]:
    """The worst kinds, each with its floor, target and charge."""
    known = book.rows.filter(pl.col("floor_per_metre").is_not_null()).head(MOST_DRAWN)
    ends = known.select(pl.col(column).cast(pl.Float64).alias(name) for name, column in _DRAWN.items())
    labels = [_label(row, book, unit) for row in known.to_dicts()]
    plot = price_dots(ends.with_columns(label=pl.Series(labels, dtype=pl.String)), unit=unit)
    alt = "Charge, floor and target of a metre of each kind of work, those with least left above the floor first."
    return (Chart((plot,), alt),) if plot else ()


def _label(row: Mapping[str, Any], book: PriceBook, unit: str) -> str:
    """Short enough for a phone: the kind, its count where there is room, and the charge."""
    count = f", {words.counted(row['cracks'], 'crack')}" if len(book.by) <= ROOM_FOR_COUNT else ""
    return f"{kind(row, book)}{count}: {words.number(row['charged_per_metre'], 0, unit)}"


def _money(name: str, label: str, unit: str, says: str = "", *, bare: bool = False) -> Column:
    """One amount of a metre, with its interval unless ``bare``."""
    low, high = ("", "") if bare else (f"{name}_low", f"{name}_high")
    return Column(f"{name}_per_metre", label, kind="number", unit=unit, low=low, high=high, digits=0, help=says)


def _table(book: PriceBook, unit: str) -> Table:
    short = (
        [Column("below", "sold below floor", help=PERHAPS)]
        if book.rows["below"].is_in(["yes", "perhaps"]).any()
        else []
    )
    target = [_money("target", "target", unit, bare=True)] if book.margin is not None else []
    columns = (
        Column("kind", "kind of work"),
        Column("cracks", "cracks", kind="number"),
        _money("floor", "floor", unit, "cost and leak-backs: below it, money is lost"),
        *target,
        _money("charged", "charged", unit, bare=True),
        _money("left", "left above the floor", unit, "charged less floor"),
        *short,
    )
    told = book.rows.filter(pl.col("cost_per_metre").is_not_null())
    few = book.rows.height - told.height
    note = f"{words.counted(few, 'kind')} of work with fewer than {FEWEST_JOBS} jobs left silent." if few else ""
    table = Table(columns, _with_kind(told, book), title="Prices of a metre by kind of work", note=note)
    return first_rows(table, MOST_LISTED, "kind of work", "kinds of work")


def _built_up(book: PriceBook, unit: str) -> Table:
    """What a metre of all cracks together costs, part by part, and of each kind."""
    kinds = book.rows.filter(pl.col("cost_per_metre").is_not_null())
    overall = book.overall.with_columns(kind=pl.lit("all of them"))
    rows = pl.concat([overall, _with_kind(kinds, book)], how="diagonal")
    spent = {name for name in NOT_ALWAYS if book.overall[f"{name}_per_metre"].fill_null(0.0).sum() > 0}
    told = {name: words for name, words in BUILT_UP.items() if name not in NOT_ALWAYS or name in spent}
    columns = (
        Column("kind", "kind of work"),
        *(_money(name, label, unit, says) for name, (label, says) in told.items()),
    )
    table = Table(columns, rows, title="What a metre is built up from")
    return first_rows(table, MOST_LISTED + 1, "kind of work", "kinds of work")


def _with_kind(rows: pl.DataFrame, book: PriceBook) -> pl.DataFrame:
    kinds = [kind(row, book) for row in rows.to_dicts()]
    return rows.with_columns(pl.Series("kind", kinds, dtype=pl.String))


def _left_out(book: PriceBook) -> tuple[str, ...]:
    if not book.left_out:
        return ()
    cracks = words.counted(book.left_out, "crack is", "cracks are")
    return (f"{cracks} left out, for want of resin, minutes, ports, length, travel or price.",)
