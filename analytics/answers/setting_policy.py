"""The policy in force, and changing it: the whole file beside the store is written anew, told in the audit trail."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import dataframely as dy

from analytics.answers.acting import acting, write_whole
from analytics.answers.currencies import require_own
from analytics.answers.records import Records, policy_path
from analytics.answers.standing import needs
from analytics.contract.columns import MONEY_DIGITS, RATE_SCALE
from analytics.contract.places import shipped
from analytics.contract.policy import IN_ORDER, Policy, margin_of_percent, read_policy
from analytics.contract.rows import Rows
from analytics.contract.settings import SETTINGS, Kind, Setting, Value, changed, percent_text, policy_text
from analytics.decisions.costs import RatesInForce
from analytics.errors import LeakbackError, UnknownNameError
from analytics.intake.by_hand import number_of
from analytics.store import Store
from analytics.store.committing import keep_policy

COLUMNS = ("name", "section", "label", "value", "published", "own", "unit", "least", "most", "says", "unset", "sources")
"""A row of the answer."""
_UNITS = {"mm": "mm", "°C": "°C", "person-minutes": "person-min"}
"""The units that a number may be typed in others of."""
_YES, _NO = {"yes", "true"}, {"no", "false"}
_A_NUMBER = {"number": "a number", "whole": "a whole number", "amount": "an amount"}
MOST_SAID = 60
"""Of what was typed, in a refusal."""


@dataclass(frozen=True)
class PolicyInForce:
    """The policy, the file it is kept in, whether that is there, and the currency of the rates where they have one."""

    policy: Policy
    file: Path
    is_there: bool
    currency: str

    @property
    def own(self) -> list[Setting]:
        """The settings that are the business's own: other than published, or given where nothing is."""
        return [each for each in SETTINGS.values() if each.of(self.policy) != each.published]

    def answer(self) -> dict[str, Any]:
        """The contract's answer, in SI as the file is."""
        rows = Rows(map(self._row, SETTINGS.values()), COLUMNS)
        return {"file": str(self.file), "is_there": self.is_there, "currency": self.currency, "rows": rows}

    def _row(self, each: Setting) -> dict[str, Any]:
        ranged = not each.options and each.kind != "text"
        told = (
            each.name,
            each.section,
            each.label,
            each.of(self.policy),
            each.published,
            each in self.own,
            self.currency if each.kind == "amount" else each.unit,
            each.least if ranged else None,
            each.most if ranged else None,
            each.says,
            each.unset,
            [str(source) for source in each.rule.sources] if each.rule else [],
        )
        return dict(zip(COLUMNS, told, strict=True))


@dataclass(frozen=True)
class Changed:
    """What was changed, from which value to which, and where the file as it was is kept (None: nothing was lost)."""

    settings: tuple[tuple[Setting, Value, Value], ...]
    file: Path
    kept: Path | None
    currency: str

    def __str__(self) -> str:
        """One or two sentences."""
        each = (
            f"{one.label} {one.said(after, self.currency)} (was {one.said(before, self.currency)})"
            for one, before, after in self.settings
        )
        kept = f" {self.file.name} as it was is kept as {self.kept.name}." if self.kept else ""
        return f"Changed: {'; '.join(each)}.{kept}"


def in_force(records: Records) -> PolicyInForce:
    """The policy these records are read under."""
    file = policy_path(records.store.path)
    return PolicyInForce(records.policy, file, file.exists(), _currency(records))


def _currency(records: Records) -> str:
    return RatesInForce.of(records.ask("current_rates")).one_currency


@needs("policy")
def set_policy(path: Path, given: Mapping[str, str]) -> Changed:
    """Set these settings, as text by name; a blank one takes it out. All of them or, with a LeakbackError, none.

    A number may have a unit of its own (``1/4 in``), a share may be in percent (``35 %``). A file that cannot be read
    is left as it is; where one says more than its settings, it is kept beside under another name.
    """
    currency = _currency(Records.of(path))
    wanted = {each.name: _read(each, text, currency) for each, text in _named(given)}
    store = Store.existing(path)
    with store.writing("change of policy"):
        before = read_policy(policy_path(path))
        _refuse_out_of_order(before, wanted)
        after = changed(before, wanted)
        settings = tuple(_moved(before, after))
        if not settings:
            raise LeakbackError("Not changed: all of it is so already.")
        file, text = policy_path(path).resolve(), policy_text(after).encode()  # a link stays one
        names = [each.name for each, _, _ in settings]
        kept = _name_to_keep(file, before)
        told = {"sha256": hashlib.sha256(text).hexdigest(), "changed": names}
        keep_policy(store, told, acting(path), partial(_write, file, text, kept))
    return Changed(settings, file, kept, currency)


def _write(file: Path, text: bytes, kept: Path | None) -> None:
    """Write the file whole, once what lies there is kept."""
    if kept:
        write_whole(kept, file.read_bytes())
    write_whole(file, text)


def _name_to_keep(file: Path, policy: Policy) -> Path | None:
    """Where a file that says more than its settings (a comment, say) is kept; None where it does not or is no one's."""
    held = file.read_bytes() if file.exists() else b""
    if not held.strip() or held in {policy_text(policy).encode(), invented_policy().read_bytes()}:
        return None
    number = 1
    while (kept := file.with_name(f"{file.name}.earlier-{number}")).exists():
        number += 1
    return kept


def invented_policy() -> Path:
    """The invented business's policy, as it is shipped."""
    return shipped("data") / "policy.toml"


def _moved(before: Policy, after: Policy) -> Iterator[tuple[Setting, Value, Value]]:
    for each in SETTINGS.values():
        if each.of(before) != each.of(after):
            yield each, each.of(before), each.of(after)


def _named(given: Mapping[str, str]) -> Iterator[tuple[Setting, str]]:
    """Each setting by its name, with its section before it or without."""
    known = {each.name: each for each in SETTINGS.values()}
    known |= {f"{each.section}.{each.name}": each for each in SETTINGS.values() if each.section}
    for name, text in given.items():
        if name not in known:
            kind = "setting"
            raise UnknownNameError(kind, name, known)
        yield known[name], text


def _read(each: Setting, text: str, currency: str) -> Value:
    """What was typed for a setting; None for a blank, LeakbackError for what it cannot be."""
    typed = text.strip()
    if not typed:
        return None
    match each.kind:
        case "word":
            if (word := typed.lower()) not in each.options:
                raise UnknownNameError(each.label, typed[:MOST_SAID], each.options)
            return word
        case "yes or no":
            if (word := typed.lower()) not in _YES | _NO:
                raise _refusal(each, typed, "must be yes or no")
            return word in _YES
        case "text":
            if len(typed) > each.most or not typed.isprintable():
                raise _refusal(each, typed, f"must be one line of at most {each.most} letters")
            return typed
        case "share":
            return _share(each, typed)
        case _:
            return _in_range(each, typed, currency)


def _in_range(each: Setting, typed: str, currency: str) -> Value:
    """A number or an amount."""
    if each.kind == "amount":
        _require_own(each, typed, currency)
    value = _number(each, typed)
    if value is None or not _within(each, float(value)):
        raise _refusal(each, typed, f"must be {_A_NUMBER[each.kind]} {each.range()}")
    return each.published if _is_published(each, float(value)) else value


def _require_own(each: Setting, typed: str, currency: str) -> None:
    try:
        require_own(each.label, typed, currency)
    except LeakbackError as error:
        raise LeakbackError(f"Not changed: {error}") from error


def _is_published(each: Setting, value: float) -> bool:
    """Whether a threshold so high is the published one: 1/8 in, which is said rounded up in mm."""
    limit = each.threshold
    return limit is not None and limit.effective(value) == limit.effective(limit.value)


def _number(each: Setting, text: str) -> float | Decimal | None:
    """A number of the setting's unit, or of one written behind it; None where it cannot be read."""
    unit = {"unit": _UNITS.get(each.unit, "") if each.is_converted else ""}
    columns: Mapping[Kind, dy.Column] = {
        "number": dy.Float64(metadata=unit),
        "whole": dy.Int64(metadata=unit),
        "amount": dy.Decimal(MONEY_DIGITS, RATE_SCALE),
        "share": dy.Float64(),
    }
    value, _ = number_of(text.removesuffix(each.unit).strip(), columns[each.kind])
    return Decimal(f"{value.normalize():f}") if isinstance(value, Decimal) else value


def _share(each: Setting, text: str) -> Decimal:
    """A share of one, or a percentage where its sign stands behind it."""
    value = _number(each, text.removesuffix("%").strip())
    share = None if value is None else Decimal(str(value))
    if text.endswith("%"):
        share = None if share is None else margin_of_percent(share)
        must = f"must be 0 or from 1 to {percent_text(each.most)} %, such as 35 %"
    else:
        must = f"must be a share from 0 to {each.most}, such as 0.35, or in percent, such as 35 %"
    if share is None or not _within(each, float(share)):
        raise _refusal(each, text, must)
    return share


def _within(each: Setting, value: float) -> bool:
    return each.least <= value <= each.most and not (each.above and value == each.least)


def _refusal(each: Setting, text: str, why: str) -> LeakbackError:
    blank = "leave it blank for the published one" if each.threshold else "leave it blank where there is none"
    if each.published is not None and not each.threshold:
        blank = f"leave it blank for {each.said(each.published)}"
    return LeakbackError(f"Not changed: {each.label}: “{text[:MOST_SAID]}” {why}; {blank}.")


def _refuse_out_of_order(before: Policy, wanted: Mapping[str, Value]) -> None:
    """LeakbackError where a threshold would not be under the one that it must be under."""
    for pair in IN_ORDER:
        low, high = (SETTINGS[name] for name in pair)
        values = [wanted.get(each.name, each.of(before)) or each.published for each in (low, high)]
        under, over = (float(value or 0) for value in values)
        if under >= over:
            raise LeakbackError(
                f"Not changed: {low.label} {low.said(under)} must be less than {high.label} {high.said(over)}; "
                "change one of them, or both."
            )
