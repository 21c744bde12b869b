"""Trying a what-if from the price book's page: what is different in it, its name, and removing one."""

from collections.abc import Iterable
from dataclasses import replace

from analytics.answers import scenarios
from analytics.answers.records import Records
from analytics.decisions.costs import ITEM_WORDS
from analytics.decisions.scenarios import RATES
from analytics.pages.asking import ask
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Folded

SAME = (
    "Leave blank what stays as it is. A price is of one litre or hour, or of a unit that you name, such as 95 per gal. "
    "Figures are compared over all work of the months chosen. The margin that prices aim at is set on the page Policy."
)


def offered(records: Records, saved: Iterable[str], currency: str) -> tuple[Folded, ...]:
    """The form that saves a scenario; with some saved, the one that removes one."""
    names = list(saved)
    removing = (Folded("Remove a scenario", (_removing(records, names),)),) if names else ()
    return (Folded("Try another scenario", (_saving(records, currency),)), *removing)


def _saving(records: Records, currency: str) -> Form:
    rate = ask("rates", "amount", currency=currency)
    amounts = (replace(rate, key=item, label=ITEM_WORDS[item]) for item in RATES)
    fields = (
        Field("name", "name of the scenario"),
        *amounts,
        Field("warranty_months", "warranty on every crack", kind="number", unit="months"),
        Field("margin_percent", "margin, as a share of the price", kind="number", unit="%"),
        Field(
            "prep",
            "extra prep on cracks flagged for it",
            kind="choice",
            options={"": "as it is", "true": "yes"},
        ),
    )

    def submit(typed: Typed) -> str:
        name = scenarios.save_typed(records, typed)
        return f"Scenario {name} is saved: it stands beside the others under What if."

    return Form("scenario", "Save this scenario", (Fieldset(fields),), submit, SAME, needs="scenario")


def _removing(records: Records, names: list[str]) -> Form:
    which = Field("name", "scenario", kind="choice", options={name: name for name in names}, default=names[0])

    def submit(typed: Typed) -> str:
        scenarios.remove(records, typed["name"])
        return f"Scenario {typed['name']} is removed."

    return Form("no-scenario", "Remove this scenario", (Fieldset((which,)),), submit, needs="scenario")
