"""The risk that a repaired crack leaks back: one hazard model behind every risk, expected count and price."""

from analytics.risk.exposure import as_seen_on
from analytics.risk.features import FEATURES, STEPS, Feature
from analytics.risk.hazard import FEWEST_LEAK_BACKS, fit
from analytics.risk.model import Estimate, HazardModel, Penalties, Verdict
from analytics.risk.penalty import choose
from analytics.risk.predict import average_risk, cumulative, expected, horizon_note, risk
from analytics.risk.reasons import CAUTION, CHANGES, Change, Contribution, contributions, what_if
from analytics.risk.score import judge
from analytics.risk.train import train

__all__ = [
    "CAUTION",
    "CHANGES",
    "FEATURES",
    "FEWEST_LEAK_BACKS",
    "STEPS",
    "Change",
    "Contribution",
    "Estimate",
    "Feature",
    "HazardModel",
    "Penalties",
    "Verdict",
    "as_seen_on",
    "average_risk",
    "choose",
    "contributions",
    "cumulative",
    "expected",
    "fit",
    "horizon_note",
    "judge",
    "risk",
    "train",
    "what_if",
]
