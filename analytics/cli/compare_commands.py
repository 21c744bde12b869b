"""Commands that compare ways of working on the same cracks."""

from pathlib import Path

import click

from analytics.cli.options import format_option, level_option, months_option, store_option
from analytics.cli.printing import emit, working
from analytics.contract.bounds import USUAL_LEVEL


@click.command(epilog="Example: leakback compare resin --months 24")
@click.argument("what", metavar="resin|season")
@months_option
@level_option(USUAL_LEVEL)
@store_option
@format_option
def compare(what: str, months: int, level: float, store: Path, form: str) -> None:
    """Compare resins or seasons fairly: what the same cracks would have done under each."""
    from analytics.answers import comparing
    from analytics.answers.records import Records
    from analytics.pages import comparing as page

    records = Records.of(store)
    with working("comparing on the same cracks"):
        found = comparing.compare(records, what, months=months, level=level)
    emit(form, found.answer, "rows", lambda: page.build(found))
