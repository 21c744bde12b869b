"""Commands that bring records in, take them out, and list what was not taken."""

from pathlib import Path

import click

from analytics.cli.options import format_option, store_option
from analytics.cli.printing import emit, working


@click.command(epilog="Example: leakback load my-files --store shop.duckdb")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--strict", is_flag=True, help="Load nothing if any row is rejected.")
@store_option
@format_option
def load(paths: tuple[Path, ...], strict: bool, store: Path, form: str) -> None:
    """Load files or folders of CSV files into the store."""
    from analytics.answers import loading
    from analytics.pages import loaded

    with working("reading and checking the files"):
        done = loading.load(store, paths, strict=strict)
    emit(form, done.answer(), "tables", lambda: loaded.build(done))


@click.command(epilog="Example: leakback rejects --format csv > to-mend.csv")
@store_option
@format_option
def rejects(store: Path, form: str) -> None:
    """List the rejected rows still to be mended, each with its reason."""
    from analytics.answers.loading import rejects as find
    from analytics.answers.records import Records
    from analytics.pages import rejected

    found = find(Records.of(store))
    emit(form, {"rows": found.to_dicts()}, "rows", lambda: rejected.build(found))


@click.command(epilog="Example: leakback undo --store shop.duckdb")
@store_option
@format_option
def undo(store: Path, form: str) -> None:
    """Take the last load back."""
    from analytics.answers import loading
    from analytics.pages import loaded

    done = loading.undo(store)
    emit(form, done.answer(), "tables", lambda: loaded.build_undone(done))


@click.command(epilog="Example: leakback template my-files")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
def template(folder: Path) -> None:
    """Write blank files with their headers and an example row, and the policy, into FOLDER."""
    from analytics.answers.templates import write_templates

    written = write_templates(folder)
    click.echo(f"Wrote {', '.join(path.name for path in written)} into {folder}.")
    click.echo("The row in each CSV file is an invented example: put your own in its place.")
    click.echo(f"Then: leakback load {folder}")
