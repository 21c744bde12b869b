"""Keeping what-ifs by name."""

from datetime import datetime

from analytics.store.database import Store


def save_scenario(store: Store, name: str, document: str, *, saved_at: datetime) -> None:
    """Keep a what-if under ``name``, in place of one of that name."""
    with store.connect(read_only=False) as connection:
        connection.execute("insert or replace into scenarios values (?, ?, ?)", [name, saved_at, document])


def remove_scenario(store: Store, name: str) -> None:
    """Forget the what-if called ``name``, if there is one."""
    with store.connect(read_only=False) as connection:
        connection.execute("delete from scenarios where name = ?", [name])
