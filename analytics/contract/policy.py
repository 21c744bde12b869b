"""A business's policy: its hemisphere, its thresholds where it has its own, and what extra prep costs it.

There is no way to turn a rule off, and no default for a cost that no one publishes.
"""

import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, Self, get_args

from pydantic import Field, ValidationError, field_validator, model_validator
from pydantic_core import ErrorDetails

from analytics.contract.declared import Declared
from analytics.contract.rules import THRESHOLDS, Rule, figure
from analytics.contract.seasons import Hemisphere
from analytics.contract.units import System
from analytics.errors import PolicyError, UnknownNameError

MOST_PREP_MINUTES = 2880
MOST_PREP_MATERIAL = Decimal(100_000)
HIGHEST_MARGIN = Decimal("0.95")
MOST_SEAL_KG_PER_LITRE = 5.0
MOST_BACKUPS = 1000
LONGEST_NAME = 60

_WORDS = {"hemisphere": Hemisphere, "display": System}
"""The settings that are one word of a few."""
IN_ORDER = (("too_narrow_mm", "hard_to_fill_mm"), ("class_a_below_c", "class_c_above_c"))
"""Thresholds of which the first must be under the second."""


def margin_of_percent(percent: Decimal) -> Decimal | None:
    """The margin that a percentage of the price is; None for what is none, such as a share typed for one (0.35)."""
    return percent / 100 if percent == 0 or 1 <= percent <= 100 * HIGHEST_MARGIN else None


def _published(name: str) -> Any:  # noqa: ANN401 (what pydantic's Field itself is typed as)
    declared = THRESHOLDS[name]
    return Field(
        default=declared.value,
        ge=declared.least,
        le=declared.most,
        allow_inf_nan=False,
        strict=True,
        validate_default=True,
        description=f"{declared.meaning}, {declared.unit}",
    )


class Thresholds(Declared):
    """The thresholds in force. Values, units, ranges and sources are declared in ``shared/rules.toml``."""

    offset_mm: float = _published("offset_mm")
    wide_mm: float = _published("wide_mm")
    several_count: int = _published("several_count")
    several_mm: float = _published("several_mm")
    site_leak_backs: int = _published("site_leak_backs")
    too_narrow_mm: float = _published("too_narrow_mm")
    hard_to_fill_mm: float = _published("hard_to_fill_mm")
    taper_mm: float = _published("taper_mm")
    cold_wall_c: float = _published("cold_wall_c")
    spacing_to_thickness: float = _published("spacing_to_thickness")
    class_a_below_c: float = _published("class_a_below_c")
    class_c_above_c: float = _published("class_c_above_c")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for low, high in IN_ORDER:
            if self.value(low) >= self.value(high):
                raise ValueError(f"{low} must be under {high}")
        return self

    def value(self, name: str) -> float:
        """The threshold of that name, in its own unit."""
        return float(getattr(self, name))

    def effective(self, name: str) -> float:
        """The size a measurement is compared with: the threshold, or the fraction of an inch it stands for."""
        return THRESHOLDS[name].effective(self.value(name))


class Prep(Declared):
    """What extra prep costs on one crack; what is not given stays unknown."""

    minutes_per_crack: float | None = Field(
        default=None, ge=0, le=MOST_PREP_MINUTES, allow_inf_nan=False, strict=True, description="person-minutes"
    )
    material_per_crack: Decimal | None = Field(
        default=None, ge=0, le=MOST_PREP_MATERIAL, description="material, in the currency of rates"
    )


class Prices(Declared):
    """What a price is made to: the margin aimed for, and what a job takes beside its cracks; never a default."""

    margin: Decimal | None = Field(
        default=None, ge=0, le=HIGHEST_MARGIN, description="share of the price, 0.35 is 35 %"
    )
    set_up_minutes: float | None = Field(
        default=None, ge=0, le=MOST_PREP_MINUTES, allow_inf_nan=False, strict=True, description="person-minutes a job"
    )
    seal_kg_per_litre: float | None = Field(
        default=None, gt=0, le=MOST_SEAL_KG_PER_LITRE, allow_inf_nan=False, strict=True, description="kg per litre"
    )


class Keeping(Declared):
    """How the records are kept: automatic backups, and whether the audit trail names who acted."""

    backups: int = Field(default=5, ge=1, le=MOST_BACKUPS, strict=True, description="automatic backups kept")
    user_names: bool = Field(default=False, strict=True, description="whether the audit trail holds account names")


class Papers(Declared):
    """What stands on every paper."""

    business: str | None = Field(default=None, min_length=1, max_length=LONGEST_NAME, description="the business's name")

    @field_validator("business")
    @classmethod
    def _on_one_line(cls, given: str | None) -> str | None:
        if given is not None and not (given.strip() == given and given.isprintable()):
            raise ValueError("the name must be on one line, without a space before or behind it")
        return given


class Policy(Declared):
    """One reading of the policy, handed to everything that decides."""

    hemisphere: Hemisphere = "north"
    display: System = "metric"
    thresholds: Thresholds = Thresholds()
    prep: Prep = Prep()
    prices: Prices = Prices()
    papers: Papers = Papers()
    keeping: Keeping = Keeping()


PUBLISHED = Policy()
"""The published thresholds, north of the equator, prep's cost and the margin unknown."""


def read_policy(path: Path | None) -> Policy:
    """The policy in the TOML file at ``path``; the published one where there is no path or no file.

    Raises ``PolicyError`` or ``UnknownNameError``, in one line that names the file and the key.
    """
    if path is None or not path.exists():
        return PUBLISHED
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        raise PolicyError(f"{path.name} cannot be read as a policy: it must be a text file in UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise PolicyError(f"{path.name} is not valid TOML: {error}.") from error
    try:
        return Policy.model_validate(given)
    except ValidationError as error:
        raise _explained(error.errors()[0], path.name) from error


def _explained(fault: ErrorDetails, file: str) -> PolicyError | UnknownNameError:
    """The first fault of a policy file as one line."""
    key, given = ".".join(str(part) for part in fault["loc"]), fault["input"]
    if fault["type"] == "extra_forbidden":
        return UnknownNameError(f"key in {file}", key, _keys())
    if key in _WORDS:
        return UnknownNameError(f"{key} in {file}", str(given), get_args(_WORDS[key]))
    name = key.removeprefix("thresholds.")
    if name in THRESHOLDS:
        limit = THRESHOLDS[name]
        kind = "a whole number" if fault["type"].startswith("int") else "a number"
        wanted = f"{kind} from {figure(limit.least)} to {figure(limit.most)} ({limit.unit})"
        return PolicyError(f"{file}: {key} = {given!r} must be {wanted}; leave it out for the published one.")
    if fault["type"] == "value_error":
        return PolicyError(f"{file}: in {key}, {fault['ctx']['error']}.")
    if fault["type"] == "model_type":
        return PolicyError(f"{file}: {key} must be a section, written [{key}] on a line of its own.")
    return PolicyError(f"{file}: {key} = {given!r} does not fit: {fault['msg'].lower()}.")


def _keys() -> Iterator[str]:
    for name, field in Policy.model_fields.items():
        section = field.annotation
        if isinstance(section, type) and issubclass(section, Declared):
            yield from (f"{name}.{key}" for key in section.model_fields)
        else:
            yield name


def policy_differs(policy: Policy, rule: Rule) -> str:
    """``your policy: 6 mm; published: 3.2 mm`` where a threshold of ``rule`` is the business's own; else nothing."""
    own = {name: policy.thresholds.value(name) for name in rule.thresholds}
    changed = [name for name in own if own[name] != THRESHOLDS[name].value]
    yours, published = _listed(changed, own), _listed(changed, {name: THRESHOLDS[name].value for name in changed})
    return f"your policy: {yours}; published: {published}" if changed else ""


def _listed(names: list[str], values: Mapping[str, float]) -> str:
    return ", ".join(THRESHOLDS[name].said(values[name], bare=True) for name in names)
