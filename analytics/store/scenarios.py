"""Keeping what-ifs by name; the trail says who kept or removed which."""

from analytics.store import auditing
from analytics.store.auditing import Act
from analytics.store.database import Store


def save_scenario(store: Store, name: str, document: str, act: Act) -> None:
    """Keep a what-if under ``name``, in place of one of that name."""
    with store.change() as connection:
        connection.execute("insert or replace into scenarios values (?, ?, ?)", [name, act.acted_at, document])
        auditing.append(connection, act, "scenario", {"name": name, "saved": document})


def remove_scenario(store: Store, name: str, act: Act) -> None:
    """Forget the what-if called ``name``, if there is one."""
    with store.change() as connection:
        connection.execute("delete from scenarios where name = ?", [name])
        auditing.append(connection, act, "scenario", {"name": name, "saved": None})
