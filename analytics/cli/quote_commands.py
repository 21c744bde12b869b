"""The command that checks quotes."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from analytics.cli.options import FILE, NUMBER, Command, format_option, level_option, months_option, store_option
from analytics.cli.printing import emit, working
from analytics.contract.bounds import QUOTE_LEVEL

if TYPE_CHECKING:
    from analytics.answers.quoting import Quotes
    from analytics.pages.page import Page

_NUMBERS = {
    "length_m": "Length, m.",
    "width_mm": "Width at the widest point, mm.",
    "wall_thickness_mm": "Thickness of the wall, mm.",
    "offset_mm": "One face out of plane with the other, mm.",
    "wall_temp_c": "Temperature of the wall, °C.",
    "port_spacing_mm": "Port spacing, mm.",
    "travel_minutes": "Travel of the job, min.",
}
_WORDS = {
    "direction": "vertical, diagonal, horizontal or stepped.",
    "water": "dry, damp, seeping or running.",
    "movement": "still, seasonal or growing.",
    "resin": "epoxy or urethane_foam.",
    "access": "open, finished or tight.",
}
_WHOLE = {"cracks_on_job": "Cracks on the same job.", "warranty_months": "Warranty, months; without it, no end."}


def _crack_options(command: Command) -> Command:
    """An option for each thing that can be said of one crack."""
    command = click.option("--price", type=str, help="The price you mean to quote for it.")(command)
    command = click.option("--crew", "crew_id", help="The crew that would do it, by its code or name.")(command)
    kinds: tuple[tuple[Any, dict[str, str]], ...] = ((int, _WHOLE), (str, _WORDS), (NUMBER, _NUMBERS))
    for kind, options in kinds:
        for name, words in reversed(options.items()):
            command = click.option(f"--{name.replace('_', '-')}", name, type=kind, help=words)(command)
    return command


@click.command(epilog="Example: leakback quote --length-m 2.4 --width-mm 0.5 --resin epoxy --water damp --price 450")
@click.option("--planned", is_flag=True, help="Check every planned crack of the records.")
@click.option("--file", "file", type=FILE, help="Check the cracks of a file, with what its jobs say.")
@click.option("--map", "map_file", type=FILE, help="The column map by which the file is read, as load takes it.")
@_crack_options
@months_option
@level_option(QUOTE_LEVEL)
@store_option
@format_option
def quote(
    planned: bool,
    file: Path | None,
    map_file: Path | None,
    months: int,
    level: float,
    store: Path,
    form: str,
    **crack: Any,  # noqa: ANN401
) -> None:
    """Check a quote: litres, labour, cost, risk, price and comparable jobs of planned cracks."""
    from analytics.answers import currencies, quote_input, quoting
    from analytics.answers.crew_asked import crew_asked
    from analytics.answers.quote_of_file import quote_file
    from analytics.answers.records import Records
    from analytics.intake import read_map

    said = any(value is not None for value in crack.values())
    if planned + (file is not None) + said != 1:
        raise click.UsageError(
            "give --planned, or --file, or one crack by --length-m, --width-mm and what else is known"
        )
    if map_file and not file:
        raise click.UsageError("--map says how a file is read: give --file too")
    column_map = read_map(map_file) if map_file else None
    records = Records.of(store)
    with working("checking the quotes"), records.store.reading():
        if planned:
            found = quoting.quote_planned(records, level=level, months=months)
        elif file:
            found = quote_file(records, file, column_map, level=level, months=months)
        else:
            crew = crack["crew_id"]
            named = {"crew_id": None if crew is None else crew_asked(records, crew)}
            currencies.require_own("price", crack["price"] or "", currencies.of_day(records))
            price = {"price": quote_input.typed_number("price", crack["price"] or "")}
            asked = quote_input.typed_crack(crack | price | named)
            found = quoting.quote(records, asked, level=level, months=months)
    emit(form, found.answer, "rows", lambda: _page(found, single=said))


def _page(found: "Quotes", *, single: bool) -> "Page":
    from analytics.pages import quote, quoted

    return quote.card(found) if single else quoted.build(found)
