"""What an estimator types of a crack: the inputs of the quote page, and what was said in them, held to the contract."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import polars as pl

from analytics.answers.currencies import require_own
from analytics.answers.quote_input import ASKED, NEEDED, numbered, typed_number
from analytics.contract import units, words
from analytics.contract.descriptions import label, unit
from analytics.errors import LeakbackError, UnknownNameError
from analytics.pages.page import Choice, Said, TypedNumber, three_figures

NOT_SAID = "not said"
HELD = "held"
SMALLEST = 0.01
LEAST: Mapping[str, float] = {"cracks_on_job": 1.0}
DEFAULTS: Mapping[str, tuple[str, str]] = {
    "length_m": ("2.4", "8"),
    "width_mm": ("0.5", "0.02"),
    "wall_thickness_mm": ("200", "8"),
    "offset_mm": ("0", "0"),
    "cracks_on_job": ("1", "1"),
}
"""What the page opens with, so that it shows what it does, as it is typed in metric and in US units."""
WORDS_OPEN_WITH: Mapping[str, str] = {"direction": "vertical", "water": "dry", "resin": "epoxy"}
OWN = ("length_m", "width_mm", "direction", "water", "resin", "offset_mm", "movement")
"""What each crack of a job has of its own; all else is the job's, or its wall's."""
AS_FIRST = "as first"
MOST_TYPED = 6
"""Cracks of one job that are typed here; a job of more is planned, or comes in a file."""
ORDER = (
    "length_m", "width_mm", "wall_thickness_mm", "direction", "water", "resin", "price", "offset_mm", "movement",
    "access", "wall_temp_c", "port_spacing_mm", "crew_id", "travel_minutes", "cracks_on_job", "warranty_months",
)  # fmt: skip


def choices(done: pl.DataFrame, currency: str) -> tuple[Choice | TypedNumber, ...]:
    """The inputs in one line; crews and warranties are those of the done cracks, the usual warranty is the default."""
    return tuple(_choice(name, done) or _typed_number(name, currency) for name in ORDER)


def cracks_of(said: Said, inputs: Sequence[Choice | TypedNumber]) -> int:
    """How many cracks the job has; LeakbackError as ``given``."""
    [entry] = [each for each in inputs if each.key == "cracks_on_job"]
    return int(given(said, [entry])["cracks_on_job"] or 1)


def further(count: int) -> tuple[Choice | TypedNumber, ...]:
    """The inputs for the other cracks of a job of ``count``, of what each crack has of its own."""
    return tuple(_of_crack(name, place) for place in range(2, min(count, MOST_TYPED) + 1) for name in OWN)


def given_further(said: Said, first: Mapping[str, Any], count: int) -> list[dict[str, Any]]:
    """The other cracks of a job whose ``first`` is given, as far as they are typed; what is the job's is the first's.

    Raises:
        LeakbackError, UnknownNameError: as ``given``, with the crack it is about.
    """
    found = []
    for place in range(2, min(count, MOST_TYPED) + 1):
        own = {name: _own(name, place, said, first) for name in OWN}
        if own["length_m"] is not None or own["width_mm"] is not None:
            found.append({**first, **own})
    return found


def _own(name: str, place: int, said: Said, first: Mapping[str, Any]) -> Any:  # noqa: ANN401 - a word or a number
    entry = _of_crack(name, place)
    if isinstance(entry, Choice):
        asked = _word(entry, said)
        return first[name] if asked == AS_FIRST else asked
    try:
        return _number(replace(entry, key=name, label=label(name)), {name: said.get(entry.key, "")})
    except LeakbackError as error:
        raise LeakbackError(f"{numbered(place)}: {error}") from error


def _of_crack(name: str, place: int) -> Choice | TypedNumber:
    """The input of a column for another crack than the first."""
    key, title = f"{name}.{place}", words.capital(f"{numbered(place)}, {label(name)}")
    column = ASKED[name]
    if isinstance(column.dtype, pl.Enum):
        options = {value: words.word(value) for value in column.dtype.categories.to_list()}
        return Choice(key, title, {AS_FIRST: f"as {numbered(1)}"} | options | {NOT_SAID: NOT_SAID}, AS_FIRST)
    entry = _typed_number(name, "")
    return replace(entry, key=key, label=title, default=None if name in NEEDED else entry.default)


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
        _opens_with(name),
        least=LEAST.get(name, SMALLEST if low is None else float(low)),
        most=float(most if most is not None else 10**9),
        unit=currency if name == "price" else {"cracks": "", "min": "min"}.get(unit(column), unit(column)),
    )


def _opens_with(name: str) -> float | None:
    """What a box says at first, read as what is typed in it is: what is shown is what is worked out."""
    metric, us = DEFAULTS.get(name, ("", ""))
    of = unit(ASKED[name])
    found = typed_number(name, metric if units.conversion(of) is None else units.with_unit(us, of))
    return None if found is None else float(found)


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
        return Choice(name, title, options | {HELD: "without end"}, str(months[0]) if months else HELD)
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
    if entry.key == "price":
        require_own(entry.label.lower(), said.get(entry.key, ""), entry.unit)
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
