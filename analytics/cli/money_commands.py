"""Commands about money: what is set aside, and what to charge."""

from datetime import date, datetime
from pathlib import Path

import click

from analytics.cli.options import format_option, level_option, store_option
from analytics.cli.printing import emit, working


@click.command(epilog="Example: leakback reserve --level 0.9 --format json")
@level_option(0.9)
@click.option(
    "--since",
    type=click.DateTime(["%Y-%m-%d"]),
    callback=lambda _context, _option, value: value.date() if isinstance(value, datetime) else None,
    help="Say how it moved since this day (year-month-day); else since the end of the last quarter.",
)
@store_option
@format_option
def reserve(level: float, since: date | None, store: Path, form: str) -> None:
    """Work out what to set aside for leak-backs under warranty: how many, when, what they cost."""
    from analytics.answers import reserving
    from analytics.answers.records import Records
    from analytics.pages.reserve import card

    records = Records.of(store)
    with working("working out the warranty reserve"):
        found = reserving.reserve(records, level=level, since=since)
    emit(form, found.answer(), "by_quarter", lambda: card(found))
