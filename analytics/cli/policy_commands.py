"""The command about the policy: what is in force, and setting it."""

from pathlib import Path

import click

from analytics.cli.options import format_option, store_option
from analytics.cli.printing import emit


@click.command(epilog="Example: leakback policy --set margin 0.35 --set wide_mm 6")
@click.option(
    "--set",
    "given",
    nargs=2,
    multiple=True,
    metavar="NAME VALUE",
    help="Set one, as it stands in the file; may be repeated.",
)
@click.option("--unset", multiple=True, metavar="NAME", help="Take one out: the published value, or none, holds.")
@store_option
@format_option
def policy(given: tuple[tuple[str, str], ...], unset: tuple[str, ...], store: Path, form: str) -> None:
    """Say every setting in force beside the published one, after setting those named: all of them or none."""
    from analytics.answers.records import Records
    from analytics.answers.setting_policy import in_force, set_policy
    from analytics.pages import policy as page

    names = [name.rpartition(".")[2] for name in (*(name for name, _ in given), *unset)]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise click.UsageError(f"{twice[0]} is named twice: set it or take it out once")
    done = str(set_policy(store, dict(given) | dict.fromkeys(unset, ""))) if names else ""
    found = in_force(Records.of(store))
    emit(form, found.answer, "rows", lambda: page.card(found, done=done))
