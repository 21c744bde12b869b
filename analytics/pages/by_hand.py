"""What every form by hand shares: names known already, and handing in what was typed."""

import re
from collections.abc import Callable, Iterable

from analytics.answers import currencies
from analytics.answers.handing_in import Recorded
from analytics.answers.records import Records
from analytics.contract import roles
from analytics.pages.asking import suggesting
from analytics.pages.form import Field, Fieldset, Form, Typed

Act = Callable[[Typed], Recorded]
CURRENCY = re.compile(r"[A-Z]{3}$")


def new(key: str, verb: str, fieldsets: Iterable[Fieldset], act: Act, note: str = "", *, needs: roles.Act) -> Form:
    """A form of something new: everything typed is handed to ``act``."""
    asked = tuple(fieldsets)

    def submit(typed: Typed) -> str:
        require_own_money(asked, typed)
        return str(act(typed))

    return Form(key, verb, asked, submit, note, needs)


def change(key: str, verb: str, fieldsets: Iterable[Fieldset], act: Act, note: str = "", *, needs: roles.Act) -> Form:
    """A form filled in from the records: only what is not as it was filled in is handed to ``act``."""
    kept = tuple(fieldsets)
    filled = {field.key: field.default for fieldset in kept for field in fieldset.fields}

    def submit(typed: Typed) -> str:
        require_own_money(kept, typed)
        return str(act({name: text for name, text in typed.items() if text != filled[name]}))

    return Form(key, verb, kept, submit, note, needs)


def require_own_money(fieldsets: Iterable[Fieldset], typed: Typed) -> None:
    """LeakbackError where an amount is typed with another currency than its field names."""
    for field in (field for fieldset in fieldsets for field in fieldset.fields if CURRENCY.match(field.unit)):
        currencies.require_own(field.label, typed.get(field.key, ""), field.unit)


def with_names(records: Records, fields: Iterable[Field]) -> tuple[Field, ...]:
    """The fields, with the branches and crews known so far as suggestions."""
    names = records.ask("known_names")
    known = {name: list(rows["name"]) for (name,), rows in names.partition_by("column_name", as_dict=True).items()}
    return tuple(suggesting(field, known[field.key]) if field.key in known else field for field in fields)
