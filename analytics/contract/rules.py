"""The rules of ``shared/rules.toml``: what each says, what to do about it, its thresholds and its sources."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from pydantic import Field

from analytics.contract.declared import Declared
from analytics.contract.places import shipped

Action = Literal["engineer_review", "measure_first", "extra_prep", "standard", "note"]
ACTIONS: tuple[Action, ...] = ("engineer_review", "measure_first", "extra_prep", "standard", "note")
"""What happens before the work, highest rank first; a note only informs."""
FOR_INJECTION = ("extra_prep", "standard")
"""What leads to an injection as planned, with or without prep."""
DO_NOT_INJECT = "do_not_inject"
"""What is said in place of the action of a crack that is not one to inject, and that no engineer is waited for."""
DECIDED_OTHERWISE = "engineer_decided"
"""The rule that an engineer has decided so."""

Mark = Literal["S", "Q", "M", "P", "O", "QM"]
_SAID: dict[Mark, str] = {
    "S": "{}",
    "Q": "{} (as quoted elsewhere)",
    "M": "{} (from memory)",
    "QM": "{} (as quoted elsewhere, and from memory)",
    "P": "common practice, no source: {}",
    "O": "our own choice, no source: {}",
}
UNSOURCED = ("common practice", "our own choice")
"""Begins what is said where there is no source."""


class RuleSource(Declared):
    """Where a rule comes from, and whether that was read, quoted elsewhere, remembered, practice or our own."""

    mark: Mark
    text: str = ""

    def __str__(self) -> str:
        return _SAID[self.mark].format(self.text).removesuffix(": ")


class Threshold(Declared):
    """A published limit in ``unit``, and the range a business's own may be in; ``label`` names it."""

    label: str
    value: int | float
    unit: str
    least: int | float
    most: int | float
    meaning: str
    also: str = ""
    counts_from: float | None = None

    def effective(self, value: float) -> float:
        """The size a measurement is compared with where ``value`` is in force.

        A published fraction of an inch is said rounded up (1/8 in, 3.175 mm, as 3.2 mm); a reading of that very
        fraction is at the threshold.
        """
        if self.counts_from is None or value > self.value:
            return value
        return min(value, self.counts_from)

    def said(self, value: float, *, bare: bool = False) -> str:
        """``value`` with its unit and, unless ``bare`` or not the published one, the inch or °F it stands for."""
        also = f" ({self.also})" if self.also and value == self.value and not bare else ""
        return f"{figure(value)} {self.unit}{also}"


class Rule(Declared):
    """One rule: its action, the sentence a crew lead reads, what to do, thresholds, confidence and sources.

    Not ``priced``: while it stands the crack is not one to inject, and its job is priced without it.
    """

    id: str
    action: Action
    text: str
    do: str
    confidence: Literal["high", "medium-high", "medium", "medium-low"]
    sources: tuple[RuleSource, ...] = Field(min_length=1)
    thresholds: dict[str, Threshold] = Field(default_factory=dict)
    unless: str | None = None
    priced: bool = True
    note: str = ""

    @cached_property
    def source(self) -> str:
        """Every source of the rule in one line."""
        return "; ".join(str(source) for source in self.sources)


def figure(value: float) -> str:
    """A number as people write it: up to four figures, no trailing zeros."""
    return f"{value:.4g}"


def _read() -> Iterator[Rule]:
    declared = tomllib.loads(shipped("shared/rules.toml").read_text(encoding="utf-8"))
    return map(Rule.model_validate, declared["rules"])


RULES: Mapping[str, Rule] = MappingProxyType({rule.id: rule for rule in _read()})
"""Every rule by its id, in the order they are said."""

THRESHOLDS: Mapping[str, Threshold] = MappingProxyType(
    {name: each for rule in RULES.values() for name, each in rule.thresholds.items()}
)
"""Every threshold by its name."""
