"""An invented crack-injection business: no firm, person, site or price in it is real.

It exists to show the product at work and to test it: what is true of it is known.
"""

from analytics.demo.business import World, simulate, world, write
from analytics.demo.truth import TRUTH, Crew, LogHazardRatios, Truth, log_hazard, true_risk

__all__ = [
    "TRUTH",
    "Crew",
    "LogHazardRatios",
    "Truth",
    "World",
    "log_hazard",
    "simulate",
    "true_risk",
    "world",
    "write",
]
