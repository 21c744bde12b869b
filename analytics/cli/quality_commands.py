"""Commands about the records themselves: how complete they are, and where they came from."""

from pathlib import Path

import click

from analytics.cli.options import format_option, store_option
from analytics.cli.printing import emit, working
from analytics.contract.rows import Rows


@click.command(epilog="Example: leakback quality --format json")
@store_option
@format_option
def quality(store: Path, form: str) -> None:
    """Say how complete the records are: columns, months, odd jumps, and what each gap costs."""
    from analytics.answers import quality as answering
    from analytics.answers.records import Records
    from analytics.pages import quality as page

    records = Records.of(store)
    with working("reading through the records"):
        found = answering.quality(records)
    emit(form, found.answer, "rows", lambda: page.shown(found))


@click.command(epilog="Example: leakback loads --format csv > loads.csv")
@store_option
@format_option
def loads(store: Path, form: str) -> None:
    """List the loads in force: when, by whom where the policy keeps names, what, and from which file."""
    from analytics.answers.records import Records
    from analytics.pages import loads as page

    found = Records.of(store).ask("load_ledger")
    emit(form, lambda: {"rows": Rows.of(found)}, "rows", lambda: page.build(found))
