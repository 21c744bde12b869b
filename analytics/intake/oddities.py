"""Rows that are loaded although something about them is odd. A warning is no fault: it asks someone to look."""

from collections.abc import Collection
from dataclasses import dataclass

import polars as pl

from analytics.contract.batch import FAULT_COLUMNS, no_warnings
from analytics.contract.references import reference
from analytics.intake.known import SIZES

# Thresholds: common practice, no source; each lies well outside ordinary work.
LONGEST_WALL_M = 15
WIDEST_MM = 25
WARMEST_C, COLDEST_C = 40, -15
TIMES_THE_VOID = 10
TIMES_THE_PORTS = 2
LONGEST_LABOUR_MINUTES = 1440
LONGEST_TRAVEL_MINUTES = 600
TIMES_THE_QUOTE = 10
ML_PER_LITRE = 1000


@dataclass(frozen=True)
class Oddity:
    """What is odd about a row: where it is said, when it is so, and the sentence."""

    column: str
    when: pl.Expr
    sentence: pl.Expr


def _void_litres() -> pl.Expr:
    through = reference("void_of_through_crack").number
    return pl.col("width_mm") * pl.col("wall_thickness_mm") * pl.col("length_m") * through / ML_PER_LITRE


def _ports() -> pl.Expr:
    return pl.col("length_m") * 1000 / pl.col("port_spacing_mm") + 1


def _earlier(first: str, second: str) -> Oddity:
    sentence = pl.format(f"{first} is {{}}, before {second} on {{}}", first, second)
    return Oddity(first, pl.col(first) < pl.col(second), sentence)


def _over(column: str, most: float, sentence: str) -> Oddity:
    return Oddity(column, pl.col(column) > most, pl.format(sentence, column))


def _zero(column: str, words: str) -> Oddity:
    return Oddity(column, pl.col(column) == 0, pl.lit(f"{words}; leave the cell blank where it was not recorded"))


def _is_untold(columns: Collection[str]) -> pl.Expr:
    """Whether the file of a row has none of these columns, so that it says nothing of them."""
    lacks = pl.col("lacks").str.split(",")
    return pl.all_horizontal(lacks.list.contains(column) for column in columns)


def oddities(table: str) -> tuple[Oddity, ...]:
    """What may be odd about a row of a table."""
    return {"jobs": _of_jobs, "cracks": _of_cracks, "reviews": _of_reviews, "rates": _of_rates}.get(table, tuple)()


def _of_jobs() -> tuple[Oddity, ...]:
    quoted, charged = pl.col("price_quoted").cast(pl.Float64), pl.col("price_charged").cast(pl.Float64)
    far = (charged > quoted * TIMES_THE_QUOTE) | (charged < quoted / TIMES_THE_QUOTE)
    said = pl.format(
        "price_charged is {}, price_quoted {}: is a decimal mark out of place?", "price_charged", "price_quoted"
    )
    return (
        _earlier("done_on", "quoted_on"),
        _earlier("planned_on", "quoted_on"),
        _zero("price_quoted", "the price quoted is 0"),
        _zero("price_charged", "the price charged is 0"),
        Oddity("price_charged", far & (charged > 0) & (quoted > 0), said),
        _over("travel_minutes", LONGEST_TRAVEL_MINUTES, "{} minutes of travel is over ten hours"),
    )


def _of_cracks() -> tuple[Oddity, ...]:
    litres, void, count = pl.col("resin_litres"), _void_litres(), pl.col("port_count")
    done = pl.any_horizontal(pl.col("resin_litres", "labour_minutes", "port_count").is_not_null())
    unsized = pl.all_horizontal(pl.col(SIZES).is_null())
    few = count < _ports() / TIMES_THE_PORTS - 1
    many = count > _ports() * TIMES_THE_PORTS + 1
    return (
        _over("length_m", LONGEST_WALL_M, "a crack of {} m is longer than any wall; is it in metres?"),
        _over("width_mm", WIDEST_MM, "a crack {} mm wide is past the widest category; is it in millimetres?"),
        _over("wall_temp_c", WARMEST_C, "a wall at {} °C; is it in Celsius?"),
        Oddity("wall_temp_c", pl.col("wall_temp_c") < COLDEST_C, pl.format("a wall at {} °C", "wall_temp_c")),
        Oddity(
            "resin_litres",
            litres > TIMES_THE_VOID * void,
            pl.format("{} L is over ten times the {} L that the crack's void holds", litres, void.round_sig_figs(2)),
        ),
        _zero("resin_litres", "0 L of resin"),
        Oddity(
            "port_count",
            (few | many) & (count > 0),
            pl.format("{} ports; the length and the spacing make about {}", count, _ports().round(0).cast(pl.Int64)),
        ),
        Oddity(
            "length_m",
            done & unsized & ~_is_untold(SIZES),
            pl.lit("work was done on a crack without a length or a width; is it a crack, or a sum of other rows?"),
        ),
        _zero("labour_minutes", "0 minutes of labour"),
        _over("labour_minutes", LONGEST_LABOUR_MINUTES, "{} person-minutes on one crack is three days' work"),
    )


def _of_reviews() -> tuple[Oddity, ...]:
    return (_earlier("decided_on", "asked_on"),)


def _of_rates() -> tuple[Oddity, ...]:
    return (Oddity("amount", pl.col("amount") == 0, pl.lit("a rate of 0")),)


def warnings(table: str, rows: pl.DataFrame) -> pl.DataFrame:
    """The warnings about rows that have the contract's columns, file, row and lacks, the columns their file has not."""
    declared = oddities(table)
    if not declared or rows.is_empty():
        return no_warnings()
    met = rows.select(oddity.when.fill_null(value=False).alias(str(i)) for i, oddity in enumerate(declared))
    found = [no_warnings()]
    for i, oddity in enumerate(declared):
        if met[str(i)].any():
            place = (pl.lit(table).alias("table"), "file", "row", pl.lit(oddity.column).alias("column"))
            odd = rows.filter(met[str(i)]).select(*place, oddity.sentence.alias("reason"))
            found.append(odd.cast(pl.Schema(FAULT_COLUMNS)))
    return pl.concat(found).sort("file", "row", maintain_order=True)
