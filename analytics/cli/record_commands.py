"""Commands that bring records in, take them out, and list what was not taken."""

from pathlib import Path

import click

from analytics.cli.options import EITHER, FILE, FOLDER, format_option, store_option
from analytics.cli.printing import emit, emit_written, into, working
from analytics.contract.rows import Rows


@click.command(epilog="Example: leakback load my-files --store shop.duckdb")
@click.argument("paths", nargs=-1, required=True, type=EITHER)
@click.option("--map", "map_file", type=EITHER, help="A column map; leakback map proposes one.")
@click.option("--strict", is_flag=True, help="Load nothing if any row is rejected.")
@store_option
@format_option
def load(paths: tuple[Path, ...], map_file: Path | None, strict: bool, store: Path, form: str) -> None:
    """Load files or folders of CSV, XLSX or Parquet files into the store."""
    from analytics.answers import loading
    from analytics.intake import read_map
    from analytics.pages import loaded

    column_map = read_map(map_file) if map_file else None
    with working("reading and checking the files"):
        done = loading.load(store, paths, column_map=column_map, strict=strict)
    emit(form, done.answer, "tables", lambda: loaded.build(done))


@click.command(epilog="Example: leakback rejects --format xlsx --output to-mend.xlsx")
@click.option("--output", type=FILE, help="Write the list to this file.")
@click.option("--format", "form", type=click.Choice(["text", "json", "csv", "xlsx"]), default="text", show_default=True)
@store_option
def rejects(output: Path | None, store: Path, form: str) -> None:
    """List the rejected rows still to be mended, each with its reason, or write them to be filled in and loaded."""
    from analytics.answers import loading, mending
    from analytics.answers.records import Records
    from analytics.contract import words
    from analytics.pages import rejected

    records = Records.of(store)
    if output is None and form != "xlsx":
        found = mending.waiting(records) if form == "csv" else loading.rejects(records)
        emit(form, lambda: {"rows": Rows.of(found)}, "rows", lambda: rejected.build(found))
        return
    if output is None or form not in {"csv", "xlsx"}:
        raise click.UsageError("--output FILE goes with --format csv or xlsx")
    lines = mending.write_work_list(records, output, "csv" if form == "csv" else "xlsx")
    faulty = words.counted(lines, "faulty cell")
    click.echo(f"Wrote {faulty} to {output}. Fill in the column mended, then: leakback load {output}")
    click.echo("A number under mended is of the unit beside it, or of the one written behind it, such as 2.5 ft.")


@click.command(epilog="Example: leakback undo --store shop.duckdb")
@store_option
@format_option
def undo(store: Path, form: str) -> None:
    """Take the last load back."""
    from analytics.answers import loading
    from analytics.pages import loaded

    done = loading.undo(store)
    emit(form, done.answer, "tables", lambda: loaded.build_undone(done))


@click.command(epilog="Example: leakback template my-files")
@click.argument("folder", type=FOLDER)
@format_option
def template(folder: Path, form: str) -> None:
    """Write blank files with their headers and an example row, and the policy, into FOLDER."""
    from analytics.answers.templates import write_templates

    written = write_templates(folder)
    emit_written(
        form,
        written,
        f"Wrote {', '.join(path.name for path in written)} {into(folder)}.",
        "The row in each CSV file is an invented example: put your own in its place.",
        f"Then: leakback load {folder}",
        "The policy is in force beside the store, under its name: shop.policy.toml for shop.duckdb.",
        "The dashboard's page Policy sets the same.",
    )
