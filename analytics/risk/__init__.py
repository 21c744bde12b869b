"""The risk that a repaired crack leaks back: one hazard model behind every risk, expected count and price."""

from analytics.risk.ahead import Ahead, Foreseen
from analytics.risk.boosting import get_ready
from analytics.risk.comparison import Compared
from analytics.risk.exposure import as_seen_on
from analytics.risk.features import FEATURES, STEPS
from analytics.risk.hazard import FEWEST_LEAK_BACKS, fit
from analytics.risk.model import HazardModel, Penalties
from analytics.risk.penalty import choose
from analytics.risk.predict import average_risk, chance, cumulative, expected, horizon_note, log_cumulative, risk
from analytics.risk.ratios import hazard_ratios
from analytics.risk.reasons import CAUTION, Contribution, contributions, what_if
from analytics.risk.scaling import ENOUGH_CRACKS
from analytics.risk.score import judge
from analytics.risk.standardise import Means, case_mix, fit_lightly
from analytics.risk.strata import MOST_MEMBERS, PAIR, Strata
from analytics.risk.train import READ, train
from analytics.risk.verdict import Drift, Estimate, Moved, Verdict

__all__ = [
    "CAUTION",
    "ENOUGH_CRACKS",
    "FEATURES",
    "FEWEST_LEAK_BACKS",
    "MOST_MEMBERS",
    "PAIR",
    "READ",
    "STEPS",
    "Ahead",
    "Compared",
    "Contribution",
    "Drift",
    "Estimate",
    "Foreseen",
    "HazardModel",
    "Means",
    "Moved",
    "Penalties",
    "Strata",
    "Verdict",
    "as_seen_on",
    "average_risk",
    "case_mix",
    "chance",
    "choose",
    "contributions",
    "cumulative",
    "expected",
    "fit",
    "fit_lightly",
    "get_ready",
    "hazard_ratios",
    "horizon_note",
    "judge",
    "log_cumulative",
    "risk",
    "train",
    "what_if",
]
