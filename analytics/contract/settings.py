"""Every setting of a policy, declared once: its words, its unit, its range, and what follows where it is not given.

The policy's file, the form that changes it and the list of what is in force are all made of this.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Literal

from analytics.contract import units
from analytics.contract.columns import MONEY_SCALE
from analytics.contract.policy import (
    HIGHEST_MARGIN,
    LONGEST_NAME,
    MOST_BACKUPS,
    MOST_PREP_MATERIAL,
    MOST_PREP_MINUTES,
    MOST_SEAL_KG_PER_LITRE,
    PUBLISHED,
    Policy,
    Thresholds,
)
from analytics.contract.rules import RULES, THRESHOLDS, Rule, Threshold, figure

Section = Literal["", "thresholds", "prep", "prices", "papers", "keeping"]
"""Of the policy's file; what has no name stands before the others."""
Kind = Literal["word", "text", "number", "whole", "amount", "share", "yes or no"]
Value = str | float | int | bool | Decimal | None

ACTION_WORDS = {
    "engineer_review": "Engineer first",
    "measure_first": "Measure first",
    "extra_prep": "Extra prep",
    "note": "For information",
}
NEVER_CONVERTED = "epoxy_class"
"""A rule whose limits are of the metric edition of a standard: the other edition has round figures of its own."""
PAGE = "Policy"
"""What the page is called on which all of them are set."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: its ``name`` in a section of the file, and ``label``, ``says`` and ``unset`` for a reader.

    ``unset`` is what follows where it is not given; a number lies from ``least`` (over it, where ``above``) to
    ``most``, a text has at most so many letters; ``options`` are the words it may be, each as a reader sees it;
    ``rule`` is a threshold's.
    """

    name: str
    section: Section
    label: str
    kind: Kind
    says: str
    unset: str = ""
    unit: str = ""
    least: float = 0
    most: float = 0
    above: bool = False
    options: Mapping[str, str] = field(default_factory=dict)
    rule: Rule | None = None

    @property
    def threshold(self) -> Threshold | None:
        """What is published of it, where it is a threshold."""
        return self.rule.thresholds[self.name] if self.rule else None

    @property
    def published(self) -> Value:
        """What holds where it is not given; None where there is no such value."""
        return self.of(PUBLISHED)

    def of(self, policy: Policy) -> Value:
        """Its value in a policy."""
        held = getattr(policy, self.section) if self.section else policy
        value: Value = getattr(held, self.name)
        return value

    def said(self, value: Value, currency: str = "") -> str:
        """A value as a reader sees it."""
        if value is None:
            return "not set"
        if isinstance(value, bool | str):
            return self.options.get(str(value).lower(), str(value))
        if self.threshold:
            return self._with_fahrenheit(self.threshold.said(float(value)), float(value))
        if self.kind == "share":
            return f"{percent_text(value)} %"
        if self.kind == "amount":
            cents = round(value, MONEY_SCALE)
            return f"{cents if cents == value else value:f} {currency}".strip()
        return f"{value:,.6g} {self.unit}".strip()

    def _with_fahrenheit(self, said: str, degrees: float) -> str:
        """A temperature in the reader's unit too; lengths are converted where they are written."""
        found = units.conversion(self.unit) if self.unit == "°C" and self.is_converted else None
        return f"{said} ({found.of(degrees):.3g} {found.unit})" if found and "(" not in said else said

    @property
    def is_converted(self) -> bool:
        """Whether its value may be shown and asked for in the reader's own unit."""
        return self.rule is None or self.rule.id != NEVER_CONVERTED

    def range(self) -> str:
        """``from 0.5 to 15 mm``."""
        if self.kind == "share":
            return f"from 0 to {percent_text(self.most)} %"
        between = "over {} and at most {}" if self.above else "from {} to {}"
        return f"{between.format(figure(self.least), f'{self.most:,.6g}')} {self.unit}".strip()


def percent_text(share: Decimal | float) -> str:
    """A share in percent, without its sign: ``0.35`` is ``35``."""
    return f"{(100 * Decimal(str(share))).normalize():f}"


def _threshold(name: str, rule: Rule) -> Setting:
    limit = THRESHOLDS[name]
    kind: Kind = "whole" if Thresholds.model_fields[name].annotation is int else "number"
    says, unset = f"{ACTION_WORDS[rule.action]}: {limit.meaning}.", "the published value holds"
    return Setting(name, "thresholds", limit.label, kind, says, unset, limit.unit, limit.least, limit.most, rule=rule)


PREP_UNKNOWN = "extra prep is never proposed for the risk alone: that takes its time and its material"

_DECLARED = (
    Setting(
        "hemisphere",
        "",
        "side of the equator",
        "word",
        "Decides which months are winter.",
        "it is the north",
        options={"north": "north of the equator", "south": "south of the equator"},
    ),
    Setting(
        "display",
        "",
        "units shown",
        "word",
        "How lengths, volumes and temperatures are shown; the records and every file stay metric.",
        "it is metric",
        options={"metric": "metric: m, mm, litres, °C", "us": "US: feet, inches, gallons, °F"},
    ),
    *(_threshold(name, rule) for rule in RULES.values() for name in rule.thresholds),
    Setting(
        "minutes_per_crack",
        "prep",
        "time of extra prep on one crack",
        "number",
        "What extra prep takes on one crack, from your own books: no one publishes it.",
        PREP_UNKNOWN,
        "person-minutes",
        most=MOST_PREP_MINUTES,
    ),
    Setting(
        "material_per_crack",
        "prep",
        "material of extra prep on one crack",
        "amount",
        "What extra prep uses up on one crack, in the currency of your rates.",
        PREP_UNKNOWN,
        most=float(MOST_PREP_MATERIAL),
    ),
    Setting(
        "margin",
        "prices",
        "margin",
        "share",
        "What prices aim at, as a share of the price; it has to carry overheads and profit.",
        "no target price is shown",
        most=float(HIGHEST_MARGIN),
    ),
    Setting(
        "set_up_minutes",
        "prices",
        "set-up of a job",
        "number",
        "What a job takes once, beside its cracks (setting up, clearing away).",
        "set-up is left out of costs",
        "person-minutes",
        most=MOST_PREP_MINUTES,
    ),
    Setting(
        "seal_kg_per_litre",
        "prices",
        "density of the surface seal",
        "number",
        "From its product's data sheet; its specific gravity is the same number.",
        "the seal is left out of costs",
        "kg per litre",
        most=MOST_SEAL_KG_PER_LITRE,
        above=True,
    ),
    Setting(
        "business",
        "papers",
        "name of the business",
        "text",
        "Stands on every page and at the foot of every paper; it is the business's, not a person's.",
        "papers bear no name",
        most=LONGEST_NAME,
    ),
    Setting(
        "backups",
        "keeping",
        "automatic backups kept",
        "whole",
        "Made before each load, undo, restore or upgrade; the oldest goes first.",
        f"{PUBLISHED.keeping.backups} are kept",
        least=1,
        most=MOST_BACKUPS,
    ),
    Setting(
        "user_names",
        "keeping",
        "account names in the audit trail",
        "yes or no",
        "Whether it holds the name of the account that acted on this computer; who signed in stands there as a code.",
        "nobody's name is kept",
        options={"false": "no", "true": "yes"},
    ),
)
SETTINGS: Mapping[str, Setting] = MappingProxyType({each.name: each for each in _DECLARED})
"""By name, in the order of the file."""


def settings_of(section: Section) -> list[Setting]:
    """The settings of one section."""
    return [each for each in SETTINGS.values() if each.section == section]


def changed(policy: Policy, values: Mapping[str, Value]) -> Policy:
    """``policy`` with these values; None takes one out. pydantic's ValidationError for what may not be so."""
    held: dict[str, Any] = policy.model_dump()
    for name, value in values.items():
        section = SETTINGS[name].section
        part = held[section] if section else held
        if value is None:
            del part[name]
        else:
            part[name] = value
    return Policy.model_validate(held)


HEAD = (
    "# Your own policy. It is in force beside the store, under its name: shop.policy.toml for shop.duckdb.",
    "# A line left out, one that begins with #, or this file left out, means the published value.",
    "# No rule can be switched off here.",
    f"# The dashboard's page {PAGE} and the command leakback policy set the same, and write this file anew: as it",
    "# was, it is kept under another name where it says more than its settings.",
)


def policy_text(policy: Policy = PUBLISHED) -> str:
    """``policy`` as a commented TOML file that reads back as the same policy.

    What is as published is a comment: where another value comes to be published, that holds then.
    """
    lines = list(HEAD)
    section: Section = ""
    for each in SETTINGS.values():
        begins = [] if each.section == section else ["", f"[{each.section}]"]
        section = each.section
        lines += [*begins, "", *_lines(each, each.of(policy))]
    return "\n".join(lines) + "\n"


def _lines(each: Setting, value: Value) -> Iterator[str]:
    yield f"# {each.says}"
    if (limit := each.threshold) and each.rule:
        yield f"# Published: {limit.said(limit.value)}. May be from {figure(limit.least)} to {limit.said(limit.most)}."
        yield from (f"# Source: {source}." for source in each.rule.sources)
    else:
        words = "; ".join(f"{word} ({said})" for word, said in each.options.items())
        unit = "A share: 0.35 is 35 %. " if each.kind == "share" else f"In {each.unit}. " if each.unit else ""
        yield f"# {f'One of: {words}. ' if words else unit}Where it is not given, {each.unset}."
    line = f"{each.name} = {_as_toml(value)}".rstrip()
    yield f"# {line}" if value == each.published else line


def _as_toml(value: Value) -> str:
    match value:
        case None:
            return ""
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False)  # of a text on one line, what TOML too calls it
        case Decimal():
            return f'"{value}"'
        case _:
            return repr(value)
