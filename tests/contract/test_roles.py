"""The declaration of roles against the pages and the writes there are."""

import ast
from pathlib import Path
from typing import get_args

from analytics.answers import loading, modelling, recording, scenarios, setting_aside, setting_policy, setting_rates
from analytics.contract.roles import ACTS, RIGHTS, ROLES, Act
from analytics.pages.questions import PAGES

ANSWERS = Path(recording.__file__).parent
WRITES = {
    "commit",
    "keep_model",
    "save_scenario",
    "remove_scenario",
    "take_back",
    "hand_in",
    "hand_in_rows",
    "keep_policy",
}
"""What changes the store, as the answers call it."""
NOT_ON_THE_SCREEN = {"keeping"}
"""Restoring and upgrading are for whoever sits at the computer; no page offers them."""
THROUGH = {"handing_in.hand_in", "handing_in.hand_in_rows", "modelling._keep"}
"""Called by guarded functions only, or where the right was asked for."""


def test_every_role_and_act_is_declared() -> None:
    assert set(RIGHTS) == set(ROLES)
    assert set(ACTS) == set(get_args(Act))
    assert {act for rights in RIGHTS.values() for act in rights.acts} == set(ACTS)


def test_a_closed_page_is_a_page() -> None:
    assert {path for rights in RIGHTS.values() for path in rights.closed} <= set(PAGES)


def test_who_may_see_no_prices_is_shown_none_by_checking_a_quote() -> None:
    assert [role for role, rights in RIGHTS.items() if rights.opens("quote") and not rights.opens("prices")] == []


def test_the_first_page_is_open_to_everybody() -> None:
    assert all(rights.opens(next(iter(PAGES))) for rights in RIGHTS.values())


def test_only_the_owner_does_everything_and_the_viewer_does_nothing() -> None:
    assert [role for role, rights in RIGHTS.items() if rights.acts == set(ACTS)] == ["owner"]
    assert not RIGHTS["viewer"].acts


def test_every_function_that_changes_the_store_asks_for_a_right() -> None:
    found = {}
    for path in ANSWERS.glob("*.py"):
        for each in ast.parse(path.read_text()).body:
            if isinstance(each, ast.FunctionDef) and _called(each) & WRITES:
                found[f"{path.stem}.{each.name}"] = [ast.unparse(one) for one in each.decorator_list]
    unguarded = {name for name, marks in found.items() if not any(mark.startswith("needs(") for mark in marks)}
    assert {name for name in unguarded if name.split(".")[0] not in NOT_ON_THE_SCREEN} == THROUGH
    assert len(found) - len(unguarded) == 16


def _called(function: ast.FunctionDef) -> set[str]:
    calls = (node.func for node in ast.walk(function) if isinstance(node, ast.Call))
    return {call.id for call in calls if isinstance(call, ast.Name)}


def test_the_guards_ask_for_what_they_should() -> None:
    wanted = {
        recording.plan_job: "plan",
        recording.close_job: "close",
        recording.record_call: "call",
        recording.record_decision: "review",
        loading.load_sources: "load",
        loading.undo: "undo",
        modelling.fit: "fit",
        scenarios.save: "scenario",
        setting_rates.set_rate: "rate",
        setting_policy.set_policy: "policy",
        setting_aside.set_aside: "load",
    }
    assert {change: change.needs for change in wanted} == wanted  # type: ignore[attr-defined]
