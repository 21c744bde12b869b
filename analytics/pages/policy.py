"""The policy: every setting in force, what it does, what is published of it, and the forms that change it."""

import polars as pl

from analytics.answers.records import Records
from analytics.answers.setting_policy import PolicyInForce, in_force
from analytics.contract import units, words
from analytics.contract.roles import PRICES_PAGE
from analytics.contract.rules import RULES, Rule
from analytics.contract.settings import PAGE, SETTINGS, Setting, settings_of
from analytics.pages import policy_forms
from analytics.pages.page import Caution, Column, Folded, Page, Part, ReasonLine, Reasons, Said, Section, Table, Words

PATH, TITLE = "policy", PAGE
OWN = "your own"
PUBLISHED = (
    "Where your own lets a crack past a published threshold, its reasons say so. No rule can be switched off: a rule "
    "without a number holds as it is."
)
CAUTION = (
    "A threshold is a screening aid, not an engineering opinion: where your own for an engineer is past the published "
    "one, local codes and a licensed engineer still decide."
)
WORKED_OUT = """
**Published.** A threshold is the published one until it is set, and its sources are named beside it; what is common
practice, or our own choice, says so. Each may be within a range, so that none can be set out of the way.

**Not set.** Nobody publishes what prep costs, what margin to aim at or how long a set-up takes, so there is no default:
what rests on it is left out, and said.

**In force.** Whatever is changed counts at once, for every page, paper and command, and for jobs recorded before too.
The history on the page Records tells which settings were changed, when, and by whom as far as that is kept.
"""


def build(records: Records, said: Said) -> Page:
    """The settings with their forms."""
    del said
    return card(in_force(records), records)


def card(found: PolicyInForce, records: Records | None = None, done: str = "") -> Page:
    """The settings in force, part by part; with ``records`` each part has the form that changes it.

    ``done`` is what was just changed, where the page itself is the answer to that.
    """

    def changing(key: policy_forms.Key) -> tuple[Part, ...]:
        return (policy_forms.folded(key, found, records.store.path),) if records else ()

    def plain(key: policy_forms.Key, *, holds: tuple[str, ...] = ()) -> Section:
        title = policy_forms.TITLES[key]
        return Section(title, (_table(title, settings_of(key), found), *changing(key)), holds=holds)

    thresholds = (
        _thresholds(found),
        Caution(CAUTION),
        Words(PUBLISHED, tone="muted"),
        *changing("thresholds"),
        _sources(),
    )
    return Page(
        answer=f"{done} {_answer(found)}".strip(),
        parts=(
            plain(""),
            plain("prices", holds=(PRICES_PAGE,)),
            plain("prep", holds=(PRICES_PAGE,)),
            Section(policy_forms.TITLES["thresholds"], thresholds),
            plain("papers"),
            plain("keeping"),
            Words(_where(found), tone="muted"),
        ),
        worked_out=WORKED_OUT,
    )


def _answer(found: PolicyInForce) -> str:
    count = len(found.own)
    if not count:
        return "Nothing is set of your own: thresholds are as published, and what nobody publishes is left out."
    are = f"{words.number(count)} of {words.number(len(SETTINGS))} settings {'are' if count > 1 else 'is'} your own"
    return f"{are}; the others are as published, or not set."


def _where(found: PolicyInForce) -> str:
    kept = "is kept in" if found.is_there else "is kept, once something is set, in"
    return (
        f"The policy {kept} {found.file.name}, a text file beside the store that can be edited too. A change made here "
        "writes it anew; where it says more than this page, such as a comment, it is kept beside as it was, as "
        f"{found.file.name}.earlier-1 and so on."
    )


def _table(title: str, settings: list[Setting], found: PolicyInForce) -> Table:
    rows = [
        {
            "label": each.label,
            "value": each.said(each.of(found.policy), found.currency),
            "says": each.says,
            "unset": words.sentence(words.capital(each.unset)),
        }
        for each in settings
    ]
    columns = (
        Column("label", "setting"),
        Column("value", "in force"),
        Column("says", "what it is"),
        Column("unset", "where it is not set"),
    )
    return Table(columns, pl.DataFrame(rows), title=title)


def _thresholds(found: PolicyInForce) -> Table:
    rows = [
        {
            "label": each.label,
            "meaning": words.sentence(words.capital(each.rule.thresholds[each.name].meaning)),
            "value": _in_both(each.said(each.of(found.policy))),
            "own": OWN if each in found.own else "",
            "published": _in_both(each.said(each.published)),
            "range": f"may be {each.range()}",
        }
        for each in settings_of("thresholds")
        if each.rule
    ]
    columns = (
        Column("label", "threshold", under="meaning"),
        Column("value", "in force", under="own"),
        Column("published", "published", under="range"),
    )
    return Table(columns, pl.DataFrame(rows), title="Thresholds", whole=True)


def _sources() -> Folded:
    """Where each published threshold comes from; a source is given as it stands there, in no other unit."""
    rules = dict.fromkeys(each.rule.id for each in settings_of("thresholds") if each.rule)
    rows = tuple(ReasonLine(_named(RULES[rule]), source=RULES[rule].source) for rule in rules)
    title = "Where the published ones come from"
    return Folded(title, (Reasons(title, rows),), on_a_phone=True)


def _named(rule: Rule) -> str:
    return words.capital(words.listed([limit.label for limit in rule.thresholds.values()]))


def _in_both(said: str) -> str:
    """A size as it is published and kept, in mm, with the reader's own unit behind it where that is another."""
    shown = units.in_text(said)
    return said if shown == said else f"{said} ({shown})"
