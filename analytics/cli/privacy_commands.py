"""Commands about people and places: what is kept of them, and records fit to share."""

from pathlib import Path

import click

from analytics.cli.options import FOLDER, format_option, store_option
from analytics.cli.printing import emit, working

K = click.option("--k", type=click.IntRange(min=2), default=5, show_default=True, help="Sites a group must hold.")


@click.command(epilog="Example: leakback privacy --k 10 --format json")
@K
@store_option
@format_option
def privacy(k: int, store: Path, form: str) -> None:
    """Say what is kept, what was dropped, and whether an export would tell who is who."""
    from analytics.answers import privacy as answering
    from analytics.answers.records import Records
    from analytics.pages import privacy as page

    records = Records.of(store)
    with working("counting the groups"):
        found = answering.privacy(records, k)
    emit(form, found.answer, "rows", lambda: page.build(found))


@click.command(epilog="Example: leakback extract to-share --k 10")
@click.argument("folder", type=FOLDER)
@K
@store_option
@format_option
def extract(folder: Path, k: int, store: Path, form: str) -> None:
    """Write an anonymised extract into FOLDER: new codes and numbers, days to the quarter, small groups merged."""
    from analytics.answers.extracting import share
    from analytics.answers.records import Records
    from analytics.pages import privacy as page
    from analytics.render.extract_files import write

    records = Records.of(store)
    with working("merging small groups"):
        shared = share(records, k)
    write(shared, folder)
    emit(form, shared.answer, "rows", lambda: page.build_extract(shared, str(folder)))
