"""The forms that change the policy, one for each part of it; only what was typed otherwise is changed."""

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from analytics.answers.setting_policy import PolicyInForce, set_policy
from analytics.contract import words
from analytics.contract.settings import ACTION_WORDS, Section, Setting, Value, percent_text, settings_of
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Folded

Key = Section
TITLES: Mapping[Key, str] = {
    "": "Units and seasons",
    "prices": "What prices are made to",
    "prep": "Extra prep",
    "thresholds": "Thresholds",
    "papers": "What stands on every paper",
    "keeping": "How records are kept",
}
"""Each part by its section in the file."""
VERBS: Mapping[Key, str] = {
    "": "Set units and seasons",
    "prices": "Set what prices are made to",
    "prep": "Set extra prep",
    "thresholds": "Set these thresholds",
    "papers": "Set what stands on papers",
    "keeping": "Set how records are kept",
}
NOTES: Mapping[Key, str] = {
    "": "It counts on every page and paper, and in what the commands say in words; files and JSON stay metric.",
    "prices": "A blank field is not set: what rests on it is left out, and said.",
    "prep": "A blank field is not known: extra prep is then never proposed for the risk alone.",
    "thresholds": "A blank field, or the published value, is the published one. The file and the rules hold mm and °C; "
    "what is typed is in the unit that the field names, or in one written behind it, such as 1/4 in.",
    "papers": "A blank name is none.",
    "keeping": "A blank number of backups is the usual one.",
}
NOT_TOLD = ("cracks", "leak-backs")
"""Units that a threshold's words have already."""


def folded(key: Key, found: PolicyInForce, path: Path) -> Folded:
    """The form of one part, folded away."""
    title = f"Change {words.as_written(TITLES[key][:1].lower() + TITLES[key][1:])}"
    return Folded(title, (_form(key, found, path),))


def _form(key: Key, found: PolicyInForce, path: Path) -> Form:
    fields = {each.name: _field(each, found) for each in settings_of(key)}
    filled = {name: field.default for name, field in fields.items()}

    def submit(typed: Typed) -> str:
        moved = {name: text for name, text in typed.items() if text != filled[name]}
        return str(
            set_policy(path, {name: f"{text} %" if _is_bare(name, text) else text for name, text in moved.items()})
        )

    return Form(f"policy-{key or 'units'}", VERBS[key], _fieldsets(key, fields), submit, NOTES[key], needs="policy")


def _is_bare(name: str, text: str) -> bool:
    """Whether it is a percentage without its sign: the field names it."""
    return name == "margin" and bool(text.strip()) and not text.strip().endswith("%")


def _fieldsets(key: Key, fields: Mapping[str, Field]) -> tuple[Fieldset, ...]:
    """All in one, thresholds by what they lead to."""
    if key != "thresholds":
        return (Fieldset(tuple(fields.values())),)
    settings = settings_of(key)
    return tuple(
        Fieldset(tuple(fields[each.name] for each in settings if each.rule and each.rule.action == action), title)
        for action, title in ACTION_WORDS.items()
        if any(each.rule and each.rule.action == action for each in settings)
    )


def _field(each: Setting, found: PolicyInForce) -> Field:
    value = each.of(found.policy)
    if each.options:
        return Field(each.name, each.label, kind="choice", options=each.options, help=each.says, default=_text(value))
    if each.kind == "text":
        return Field(each.name, each.label, help=each.says, default=_text(value))
    unit = {"amount": found.currency, "share": "% of the price"}.get(each.kind, each.unit)
    unit = "" if unit in NOT_TOLD else unit
    return Field(
        each.name,
        each.label if each.is_converted else f"{each.label}, {unit}",
        kind="number",
        unit=unit if each.is_converted else "",
        help=_help(each),
        default=percent_text(value) if isinstance(value, Decimal) and each.kind == "share" else _text(value),
    )


def _help(each: Setting) -> str:
    published = f" Published: {each.said(each.published)}." if each.threshold else ""
    return f"{each.says}{published} It may be {each.range()}."


def _text(value: Value) -> str:
    """A value as it stands in a field at first."""
    match value:
        case None:
            return ""
        case bool():
            return str(value).lower()
        case float():
            return f"{value:.15g}"
        case _:
            return str(value)
