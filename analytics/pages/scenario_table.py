"""What-ifs side by side: the same work under another wage, resin price, warranty, margin or with more prep."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

import polars as pl

from analytics.answers.scenarios import Priced
from analytics.contract import words
from analytics.contract.columns import MONEY_SCALE
from analytics.decisions.costs import CENT, ITEM_WORDS
from analytics.decisions.scenarios import RATES, Scenario
from analytics.pages.page import Column, Folded, Page, Section, Table, Words
from analytics.pages.rates_set import digits_of_rates, other_unit

LEAK_BACKS = "leak_back_cost"
AMOUNTS = {
    "cost": "cost",
    LEAK_BACKS: "leak-backs",
    "floor": "floor",
    "target": "target",
    "charged": "charged",
}
HOW_TO = "Save one with, for example: leakback scenario save dearer-labour --labour-hour 75"


def section(compared: Sequence[Priced], unit: str, offered: Sequence[Folded] = ()) -> Section:
    """The scenarios side by side, a row each, and what is offered to do about them."""
    figures = {f"{name}_{end}": (name, end) for name in AMOUNTS for end in ("value", "low", "high")}
    rows = [
        {
            "name": each.name,
            "changes": said(each.changes),
            **{figure: each.row and each.row["parts"][name][end] for figure, (name, end) in figures.items()},
        }
        for each in compared
    ]
    schema = {"name": pl.String, "changes": pl.String} | dict.fromkeys(figures, pl.Float64)
    columns = (
        Column("name", "scenario", under="changes"),
        *(
            Column(f"{name}_value", label, "number", unit, low=f"{name}_low", high=f"{name}_high", digits=0)
            for name, label in AMOUNTS.items()
            if name != LEAK_BACKS or any(row[f"{name}_value"] for row in rows)
        ),
    )
    notes = [Words(f"{each.name}: {' '.join(each.said)}", tone="muted") for each in compared if each.said]
    note = "" if offered else HOW_TO
    table = (Table(columns, pl.DataFrame(rows, schema=schema), title="Scenarios side by side", note=note),)
    return Section("What if", (*(table if compared else ()), *notes, *offered))


def said(changes: Mapping[str, Any]) -> str:
    """What a scenario changes, in words."""
    parts = [_rate(item, changes[item]) for item in RATES if item in changes]
    if "warranty_months" in changes:
        parts.append(f"a warranty of {words.number(changes['warranty_months'])} months")
    parts += [f"a margin of {words.quantity(100 * changes['margin'], '%')}"] if "margin" in changes else []
    parts += ["extra prep on cracks flagged for it"] if changes.get("prep") else []
    return ", ".join(parts) or "nothing changed"


def listed(saved: Mapping[str, Scenario]) -> Page:
    """The saved scenarios as a page."""
    rows = pl.DataFrame(
        [{"name": name, "changes": said(each.changes())} for name, each in saved.items()],
        schema={"name": pl.String, "changes": pl.String},
    )
    columns = (Column("name", "scenario"), Column("changes", "what it changes"))
    answer = f"{words.counted(len(saved), 'scenario')} saved." if saved else "No scenario is saved yet."
    return Page(answer=answer, parts=(Table(columns, rows, title="Scenarios", empty=HOW_TO),))


def _rate(item: str, amount: Decimal) -> str:
    """``a litre of epoxy at 25.0963``, and what that is of one of the reader's own units, where that is another.

    The latter is to the cent, as it is mostly typed, unless the amount is less than one.
    """
    own, unit, digits = "", other_unit(item), digits_of_rates(amount)
    if unit:
        own = f" ({words.number(amount, digits if amount < CENT else MONEY_SCALE, f'/{unit}')})"
    return f"{ITEM_WORDS[item]} at {words.number(amount, digits)}{own}"
