"""What one quoted crack takes, and the build-up of its price; the two apart, since the second is added up."""

import polars as pl

from analytics.answers.quoting import Quotes
from analytics.contract import words
from analytics.contract.references import reference
from analytics.decisions.quote import Quote, Span
from analytics.pages.job import ports, void
from analytics.pages.page import Column, Figure, Table
from analytics.pages.price_said import BAD_END, FLOOR, TARGET

ADDED_UP = "The first four added up are the floor."


def work(found: Quotes, quote: Quote) -> tuple[Figure, ...]:
    """Resin, labour, what geometry makes of the crack, and the risk."""
    off = quote.take_off
    level = f"{words.level(found.level)} interval"
    fill = reference("fill_to_next_port").says
    return (
        _figure("resin", quote.litres, "L", 2, level),
        _figure("labour", quote.minutes, "min", 0, f"person-minutes, {level}"),
        _figure("hours with travel and set-up", quote.hours, "h", 1, "person-hours, this crack's share"),
        ports(quote.facts["length_m"], off.spacing_mm),
        void(off.void_litres),
        Figure("surface seal", off.seal_litres, unit="L", digits=2),
        Figure("filling, at least", off.fill_minutes, unit="min", note=fill),
        Figure("cure before the ports come off", off.cure_hours, unit="h", note="about; the product's sheet decides"),
        Figure(
            f"leak-back within {found.months} months",
            quote.flag.risk,
            quote.flag.low,
            quote.flag.high,
            kind="percent",
            digits=1,
            note="" if quote.flag.risk is None else level,
        ),
    )


def money(found: Quotes, quote: Quote) -> tuple[Figure, ...]:
    """What makes up the floor, then the floor, its bad end and the target; nothing where costs cannot be told."""
    price, currency = quote.price, found.currency
    if price.costs is None:
        return ()
    each = price.leak_backs.expected
    leaks = "not known, not counted" if each is None else f"{words.percent(each)} chance of one under warranty"
    split = {
        "material": (price.costs.material, "resin, ports" + (", seal" if price.costs.seal is not None else "")),
        "labour and set-up": (price.costs.labour, ""),
        "travel": (price.costs.travel, "not given, not counted" if quote.facts["travel_minutes"] is None else ""),
        "leak-backs": (price.leak_back_cost, leaks),
        "floor": (price.floor, FLOOR),
        "floor at the bad end": (price.bad_end, BAD_END),
        "target": (price.target, TARGET),
    }
    return tuple(Figure(name, value, kind="money", unit=currency, note=note) for name, (value, note) in split.items())


def money_table(found: Quotes, quote: Quote) -> tuple[Table, ...]:
    """The same as a list whose amounts stand under each other; none where there are none."""
    rows = [(row.label, row.value, row.note) for row in money(found, quote)]
    schema: dict[str, pl.DataType] = {"what": pl.String(), "amount": pl.Decimal(14, 2), "note": pl.String()}
    columns = (
        Column("what", "cost"),
        Column("amount", "amount", kind="money", unit=found.currency),
        Column("note", "what is in it"),
    )
    return (Table(columns, pl.DataFrame(rows, schema, orient="row"), "What it costs", ADDED_UP),) if rows else ()


def _figure(label: str, span: Span, unit: str, digits: int, note: str) -> Figure:
    said = "" if span.expected is None else note
    return Figure(label, span.expected, span.low, span.high, unit=unit, digits=digits, note=said)
