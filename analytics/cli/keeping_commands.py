"""Commands that keep the records safe: backup, restore, check, upgrade, history."""

from pathlib import Path

import click

from analytics.cli.options import FILE, format_option, store_option
from analytics.cli.printing import emit, working

NOT_SOUND = 1


@click.command(epilog="Example: leakback backup /media/stick/shop-backup.duckdb --store shop.duckdb")
@click.argument("file", type=FILE)
@store_option
@format_option
def backup(file: Path, store: Path, form: str) -> None:
    """Back the store up to FILE, with its private file and policy beside it."""
    from analytics.answers import keeping
    from analytics.pages import keeping as pages

    with working("copying and checking the records"):
        done = keeping.backup(store, file)
    emit(form, done.answer, "rows", lambda: pages.build_backed_up(done))


@click.command(epilog="Example: leakback restore shop-backup.duckdb --store shop.duckdb")
@click.argument("file", required=False, type=FILE)
@store_option
@format_option
def restore(file: Path | None, store: Path, form: str) -> None:
    """Put the backup FILE in the store's place; without FILE the last sound automatic one.

    The backup is checked first, and what was there is kept under another name.
    """
    from analytics.answers import keeping
    from analytics.pages import keeping as pages

    with working("checking and restoring the backup"):
        done = keeping.restore(store, file)
    emit(form, done.answer, "rows", lambda: pages.build_restored(done))


@click.command(epilog="Example: leakback check --store shop.duckdb")
@store_option
@format_option
@click.pass_context
def check(context: click.Context, store: Path, form: str) -> None:
    """Check that the store holds what was written to it; exit 1 where it does not."""
    from analytics.answers import keeping
    from analytics.pages import keeping as pages

    with working("checking the records"):
        done = keeping.check(store)
    emit(form, done.answer, "faults", lambda: pages.build_check(done))
    context.exit(0 if done.found.is_sound else NOT_SOUND)


@click.command(epilog="Example: leakback upgrade --store shop.duckdb")
@store_option
@format_option
def upgrade(store: Path, form: str) -> None:
    """Bring a store of an older version up to this program's, with a backup first."""
    from analytics.answers import keeping
    from analytics.pages import keeping as pages

    with working("bringing the records up to this version"):
        done = keeping.upgrade(store)
    emit(form, done.answer, "versions", lambda: pages.build_upgraded(done))


@click.command(epilog="Example: leakback history --format csv > history.csv")
@store_option
@format_option
def history(store: Path, form: str) -> None:
    """List what changed the records and when, and the files of the loads."""
    from analytics.answers import keeping
    from analytics.answers.records import Records
    from analytics.pages import keeping as pages

    found = keeping.history(Records.of(store))
    emit(form, found.answer, "rows", lambda: pages.build_history(found))
