"""Triage on any crack at all: no risk touches what an engineer must look at."""

from typing import Any

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.contract.policy import PUBLISHED
from analytics.decisions.triage import Flag, triage
from tests.decisions.planned import ASKED, INJECT, LOOSER, MONITOR, PREP, RISKS, frame, one


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


CRACKS = st.fixed_dictionaries(
    {
        "job_id": st.sampled_from(["J1", "J2"]),
        "direction": maybe(st.sampled_from(["vertical", "diagonal", "horizontal", "stepped"])),
        "movement": maybe(st.sampled_from(["still", "seasonal", "growing"])),
        "water": maybe(st.sampled_from(["dry", "damp", "seeping", "running"])),
        "resin": maybe(st.sampled_from(["epoxy", "urethane_foam"])),
        "length_m": maybe(st.floats(0.1, 50)),
        "width_mm": maybe(st.floats(0.01, 100)),
        "offset_mm": maybe(st.floats(0, 300)),
        "wall_thickness_mm": maybe(st.floats(75, 1500)),
        "wall_temp_c": maybe(st.floats(-30, 60)),
        "port_spacing_mm": maybe(st.floats(25, 1000)),
        "site_leak_backs": maybe(st.integers(0, 4)),
    }
)
REVIEWS = st.sampled_from([{}, ASKED, MONITOR, INJECT])
SHARES = maybe(st.floats(0, 1) | st.just(0.0001))


def engineers(flags: list[Flag]) -> dict[str, tuple[bool, list[tuple[str, str, bool]]]]:
    return {
        flag.crack_id: (
            flag.action == "engineer_review",
            [(each.rule, each.text, each.cleared) for each in flag.reasons if each.action == "engineer_review"],
        )
        for flag in flags
    }


@given(cracks=st.lists(st.tuples(CRACKS, REVIEWS), min_size=1, max_size=6), shares=st.lists(SHARES, min_size=12))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_no_risk_changes_what_an_engineer_must_look_at(
    cracks: list[tuple[dict[str, Any], dict[str, Any]]], shares: list[float | None]
) -> None:
    planned = frame(*({**crack, **review} for crack, review in cracks))
    rows = [
        {"crack_id": f"C{place}", "risk": shares[place], "low": 0.0, "high": 1.0, "risk_with_prep": shares[-place]}
        for place in range(1, len(cracks) + 1)
    ]
    without = triage(planned, PUBLISHED)
    with_risks = triage(planned, PUBLISHED, pl.DataFrame(rows, schema=RISKS), PREP)
    assert engineers(with_risks) == engineers(without)


@given(cracks=st.lists(st.tuples(CRACKS, REVIEWS), min_size=1, max_size=6), order=st.randoms(use_true_random=False))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_the_order_of_rows_changes_nothing(cracks: list[tuple[dict[str, Any], dict[str, Any]]], order: Any) -> None:
    planned = frame(*({**crack, **review} for crack, review in cracks))
    places = list(range(len(planned)))
    order.shuffle(places)
    assert triage(planned[places], LOOSER) == triage(planned, LOOSER)


@given(crack=CRACKS)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_a_standard_crack_is_fully_measured(crack: dict[str, Any]) -> None:
    flag = one(crack)
    measured = all(crack[name] is not None for name in ("direction", "width_mm", "offset_mm", "length_m"))
    assert measured or flag.action in {"engineer_review", "measure_first"}
    assert (flag.action == "standard") == (flag.reasons == ())
