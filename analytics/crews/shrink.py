"""Ratios held back towards the company's, the more the less is known: gamma-Poisson, the spread integrated out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]

SPREADS = np.linspace(0.02, 2.0, 100)
"""Standard deviations of the crews' true ratios that are weighed."""
PRIOR_SPREAD = 0.5
"""Scale of the half-normal prior on that standard deviation: crews that differ by half are usual, fivefold are not."""
_HALVINGS, _HIGHEST = 40, 50.0


def log_marginal(observed: Floats, expected: Floats, shape: Floats | float, rate: Floats | float) -> Floats:
    """Log chance of counts whose ratio to expected is drawn from gamma(shape, rate): negative binomial."""
    constant = special.gammaln(observed + shape) - special.gammaln(shape) - special.gammaln(observed + 1)
    found: Floats = (
        constant + shape * np.log(rate / (rate + expected)) + observed * np.log(expected / (rate + expected))
    )
    return found


def shrunken(observed: Floats, expected: Floats, shape: Floats | float, rate: Floats | float) -> Floats:
    """The mean ratio after the count, for a known gamma(shape, rate)."""
    found: Floats = (observed + shape) / (expected + rate)
    return found


@dataclass(frozen=True, eq=False)
class Ratios:
    """What is believed of each crew's true ratio: a mix of gammas, one a spread (crews by spreads)."""

    shapes: Floats
    rates: Floats
    weights: Floats

    def mean(self) -> Floats:
        """The shrunken ratio of each crew."""
        found: Floats = (self.shapes / self.rates) @ self.weights
        return found

    def over(self, ratio: float) -> Floats:
        """The chance that each crew's true ratio is above ``ratio``."""
        found: Floats = 1 - self._below(np.full(len(self.shapes), ratio))
        return found

    def quantile(self, probability: float) -> Floats:
        """The ratio that each crew's true one lies below with this probability."""
        low, high = np.zeros(len(self.shapes)), np.full(len(self.shapes), _HIGHEST)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            under = self._below(middle) < probability
            low, high = np.where(under, middle, low), np.where(under, high, middle)
        found: Floats = (low + high) / 2
        return found

    def _below(self, ratio: Floats) -> Floats:
        found: Floats = special.gammainc(self.shapes, self.rates * ratio[:, None]) @ self.weights
        return found


def ratios(observed: Floats, expected: Floats) -> Ratios:
    """Each crew's ratio given all crews' counts; true ratios are gamma with mean 1 and a spread that is weighed.

    Integrated over the spread, not plugged in: with few crews the spread is hardly known, and intervals that take it
    as known are too short.
    """
    shape = 1 / SPREADS**2
    evidence = log_marginal(observed[:, None], expected[:, None], shape, shape).sum(axis=0)
    log_weight = evidence - (SPREADS / PRIOR_SPREAD) ** 2 / 2
    weights = np.exp(log_weight - log_weight.max())
    return Ratios(observed[:, None] + shape, expected[:, None] + shape, weights / weights.sum())
