"""Commands that say who may open a dashboard with sign-in, and as what."""

from pathlib import Path

import click

from analytics.cli.options import format_option, store_option
from analytics.cli.printing import emit, emit_said
from analytics.contract.roles import ROLES, Role
from analytics.contract.rows import Rows


@click.group(epilog="Example: leakback people set anna@example.org lead")
def people() -> None:
    """Say who may open a dashboard with sign-in, and as what."""


@people.command("list", epilog="Example: leakback people list")
@store_option
@format_option
def list_(store: Path, form: str) -> None:
    """List who has which role, and the code that stands for each in the audit trail."""
    from analytics.answers.inviting import invited
    from analytics.pages import invited as page

    emit(form, lambda: _answer(store), "rows", lambda: page.build(invited(store)))


@people.command("set", epilog="Example: leakback people set anna@example.org lead --store shop.duckdb")
@click.argument("name")
@click.argument("role", type=click.Choice(ROLES))
@store_option
@format_option
def set_role(name: str, role: Role, store: Path, form: str) -> None:
    """Give NAME, the address they sign in with, the role ROLE in place of any other."""
    from analytics.answers.inviting import invite

    address = invite(store, name, role)
    emit_said(form, lambda: _answer(store), "rows", f"{address} is {role} now.")


@people.command("remove", epilog="Example: leakback people remove anna@example.org --store shop.duckdb")
@click.argument("name")
@store_option
@format_option
def remove(name: str, store: Path, form: str) -> None:
    """Take the role of NAME back; whatever they have open is closed to them at once."""
    from analytics.answers.inviting import turn_away

    turn_away(store, name)
    emit_said(form, lambda: _answer(store), "rows", f"{name} has no role any more.")


def _answer(store: Path) -> dict[str, Rows]:
    """Who has which role."""
    from analytics.answers.inviting import COLUMNS, invited

    return {"rows": Rows((each.answer() for each in invited(store)), COLUMNS)}
