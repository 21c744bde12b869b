"""The command that judges the crews."""

from pathlib import Path

import click

from analytics.cli.options import format_option, store_option
from analytics.cli.printing import emit, working


@click.command(epilog="Example: leakback crews --months 24 --format csv")
@click.option(
    "--months", type=int, default=24, show_default=True, help="Only the first months of each crack's life count."
)
@store_option
@format_option
def crews(months: int, store: Path, form: str) -> None:
    """Tell bad luck from bad practice: each crew's leak-backs against what its cracks make expected."""
    from analytics.answers import crews as judging
    from analytics.answers.records import Records
    from analytics.pages import crews as page

    records = Records.of(store)
    with working("judging the crews"):
        found = judging.crews(records, months=months)
    emit(form, found.answer, "rows", lambda: page.judged(found))
