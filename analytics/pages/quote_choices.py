"""What an estimator types of a crack: the inputs of the quote page, and what was said in them, held to the contract."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from analytics.answers.quote_input import ASKED, typed_number
from analytics.contract import units, words
from analytics.contract.descriptions import label, unit
from analytics.errors import LeakbackError, UnknownNameError
from analytics.pages.page import Choice, Said, TypedNumber, three_figures

NOT_SAID = "not said"
HELD = "held"
SMALLEST = 0.01
LEAST: Mapping[str, float] = {"cracks_on_job": 1.0}
DEFAULTS: Mapping[str, float] = {
    "length_m": 2.4,
    "width_mm": 0.5,
    "wall_thickness_mm": 200.0,
    "offset_mm": 0.0,
    "cracks_on_job": 1.0,
}
"""Measurements the page opens with, so that it shows what it does."""
WORDS_OPEN_WITH: Mapping[str, str] = {"direction": "vertical", "water": "dry", "resin": "epoxy"}
ORDER = (
    "length_m", "width_mm", "wall_thickness_mm", "direction", "water", "resin", "price", "offset_mm", "movement",
    "access", "wall_temp_c", "port_spacing_mm", "crew_id", "travel_minutes", "cracks_on_job", "warranty_months",
)  # fmt: skip


def choices(done: pl.DataFrame, currency: str) -> tuple[Choice | TypedNumber, ...]:
    """The inputs in one line; crews and warranties are those of the done cracks, the usual warranty is the default."""
    return tuple(_choice(name, done) or _typed_number(name, currency) for name in ORDER)


def given(said: Said, inputs: Sequence[Choice | TypedNumber]) -> dict[str, Any]:
    """What was said, by column of ``ASKED``; None where nothing was.

    Raises:
        LeakbackError, UnknownNameError: one sentence for the first that is no number, impossible, or no such word.
    """
    return {each.key: _word(each, said) if isinstance(each, Choice) else _number(each, said) for each in inputs}


def _typed_number(name: str, currency: str) -> TypedNumber:
    column = ASKED[name]
    low, most = (getattr(column, bound, None) for bound in ("min", "max"))
    return TypedNumber(
        name,
        label(name).capitalize(),
        DEFAULTS.get(name),
        least=LEAST.get(name, SMALLEST if low is None else float(low)),
        most=float(most if most is not None else 10**9),
        unit=currency if name == "price" else {"cracks": "", "min": "min"}.get(unit(column), unit(column)),
    )


def _choice(name: str, done: pl.DataFrame) -> Choice | None:
    column = ASKED[name]
    title = label(name).capitalize()
    if isinstance(column.dtype, pl.Enum):
        options = {value: words.word(value) for value in column.dtype.categories.to_list()}
        return Choice(name, title, {NOT_SAID: NOT_SAID} | options, WORDS_OPEN_WITH.get(name, NOT_SAID))
    if name == "crew_id":
        crews = done[name].drop_nulls().unique().sort().to_list()
        return Choice(name, title, {NOT_SAID: "any crew"} | {crew: crew for crew in crews}, NOT_SAID)
    if name == "warranty_months":
        months = done[name].drop_nulls().value_counts(sort=True)[name].to_list()
        options = {str(each): f"{each} months" for each in sorted(months)}
        held = {HELD: "as long as the house is held"}
        return Choice(name, title, options | held, str(months[0]) if months else HELD)
    return None


def _word(choice: Choice, said: Said) -> Any:  # noqa: ANN401 - a word or a whole number
    asked = said.get(choice.key)
    if asked and asked not in choice.options and asked not in choice.options.values():
        raise UnknownNameError(choice.label.lower(), asked, choice.options.values())
    value = choice.of(said)
    if value in {NOT_SAID, HELD}:
        return None
    return int(value) if choice.key == "warranty_months" else value


def _number(entry: TypedNumber, said: Said) -> float | None:
    found = typed_number(entry.key, units.with_unit(said.get(entry.key, "").strip(), entry.unit))
    if found is None:
        return entry.default
    value = float(found)
    shown = entry.shown()
    told = value if shown is entry else three_figures(float(units.shown(value, entry.unit) or 0.0))  # as its bounds are
    if not shown.least <= told <= shown.most:
        bounds = f"{words.quantity(shown.least)} to {words.quantity(shown.most, shown.unit)}"
        raise LeakbackError(f"{entry.label.lower()} must be from {bounds}")
    return min(max(value, entry.least), entry.most)
