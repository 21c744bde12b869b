"""Commands about files that are not in our words yet: a column map, and what is odd about what was loaded."""

from pathlib import Path

import click

from analytics.cli.options import EITHER, FILE, format_option, store_option
from analytics.cli.printing import emit, working
from analytics.contract.rows import Rows


@click.command(name="map", epilog="Example: leakback map work-2024.xlsx --write map.toml")
@click.argument("paths", nargs=-1, required=True, type=EITHER)
@click.option("--write", type=FILE, help="Write the map to this file (TOML).")
@format_option
def map_columns(paths: tuple[Path, ...], write: Path | None, form: str) -> None:
    """Propose a column map for files with headers of their own; nothing is loaded."""
    from analytics.answers import mapping
    from analytics.pages import mapped

    with working("reading the files"):
        proposed = mapping.propose_files(paths)
    if write:
        mapping.write_map(write, proposed.text)
    emit(form, proposed.answer, "rows", lambda: mapped.build(proposed, str(write or ""), [str(path) for path in paths]))


@click.command(epilog="Example: leakback warnings --format csv")
@store_option
@format_option
def warnings(store: Path, form: str) -> None:
    """List the rows that are loaded although something about them is odd."""
    from analytics.answers import loading
    from analytics.answers.records import Records
    from analytics.pages import warned

    records = Records.of(store)
    found, calls = loading.warnings(records), records.ask("stray_calls")
    answer = {"rows": Rows.of(found), "calls": Rows.of(calls)}
    emit(form, lambda: answer, "rows", lambda: warned.build(found, calls))
