"""Planned cracks for the triage tests: a plain one, and what may be said of it."""

from datetime import date
from decimal import Decimal
from typing import Any

import polars as pl

from analytics.contract.policy import PUBLISHED, Policy, Thresholds
from analytics.decisions.prep import PrepValue
from analytics.decisions.triage import Flag, triage

PLAIN: dict[str, Any] = {
    "crack_id": "C1",
    "job_id": "J1",
    "direction": "vertical",
    "movement": "still",
    "water": "dry",
    "resin": "urethane_foam",
    "length_m": 2.4,
    "width_mm": 0.4,
    "offset_mm": 0.0,
    "wall_thickness_mm": 200.0,
    "wall_temp_c": 18.0,
    "port_spacing_mm": 200.0,
    "site_leak_backs": 0,
    "asked_on": None,
    "decided_on": None,
    "decision": None,
    "reference": None,
    "planned_on": None,
}
DATES = {"planned_on": pl.Date, "asked_on": pl.Date, "decided_on": pl.Date}
SHARES = ("risk", "low", "high", "warranty_risk", "warranty_risk_with_prep")
RISKS = {"crack_id": pl.String} | dict.fromkeys(SHARES, pl.Float64)
ASKED = {"asked_on": date(2025, 3, 1)}
MONITOR = {**ASKED, "decided_on": date(2025, 3, 9), "decision": "monitor", "reference": "L-12"}
INJECT = {**MONITOR, "decision": "inject"}
INCH = 25.4  # mm, by definition
PREP = PrepValue(Decimal(600), 14, Decimal(60))
LOOSER = Policy(thresholds=Thresholds(offset_mm=6, several_mm=4, cold_wall_c=8))


def frame(*changes: dict[str, Any]) -> pl.DataFrame:
    rows = [{**PLAIN, "crack_id": f"C{place}", **change} for place, change in enumerate(changes, 1)]
    types = {name: DATES.get(name, pl.String if value is None else type(value)) for name, value in PLAIN.items()}
    return pl.DataFrame(rows, schema=types)


def one(
    change: dict[str, Any],
    policy: Policy = PUBLISHED,
    risk: dict[str, Any] | None = None,
    prep: PrepValue | None = None,
) -> Flag:
    risks = pl.DataFrame([{"crack_id": "C1", **risk}], schema=RISKS) if risk else None
    (flag,) = triage(frame(change), policy, risks, prep)
    return flag


def rules(flag: Flag) -> list[str]:
    return [reason.rule for reason in (*flag.reasons, *flag.notes)]


def text(flag: Flag, rule: str) -> str:
    (found,) = [reason.text for reason in (*flag.reasons, *flag.notes) if reason.rule == rule]
    return found
