"""Gamma-Poisson shrinking, against published empirical Bayes fits."""

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from analytics.crews.shrink import PRIOR_SPREAD, SPREADS, log_marginal, ratios, shrunken

PUMPS = np.array([5, 1, 5, 14, 3, 19, 1, 1, 4, 22.0])
PUMP_HOURS = np.array([94.32, 15.72, 62.88, 125.76, 5.24, 31.44, 1.048, 1.048, 2.096, 10.48])
LIP = np.array(
    [
        *(9, 39, 11, 9, 15, 8, 26, 7, 6, 20, 13, 5, 3, 8, 17, 9, 2, 7, 9, 7, 16, 31, 11, 7, 19, 15, 7, 10),
        *(16, 11, 5, 3, 7, 8, 11, 9, 11, 8, 6, 4, 10, 8, 2, 6, 19, 3, 2, 3, 28, 6, 1, 1, 1, 1, 0, 0),
    ],
    dtype=float,
)
LIP_EXPECTED = np.array(
    [
        *(1.4, 8.7, 3.0, 2.5, 4.3, 2.4, 8.1, 2.3, 2.0, 6.6, 4.4, 1.8, 1.1, 3.3, 7.8, 4.6, 1.1, 4.2, 5.5),
        *(4.4, 10.5, 22.7, 8.8, 5.6, 15.5, 12.5, 6.0, 9.0, 14.4, 10.2, 4.8, 2.9, 7.0, 8.5, 12.3, 10.1, 12.7),
        *(9.4, 7.2, 5.3, 18.8, 15.8, 4.3, 14.6, 50.7, 8.2, 5.6, 9.3, 88.7, 19.6, 3.4, 3.6, 5.7, 7.0, 4.2, 1.8),
    ]
)


def _by_likelihood(observed: np.ndarray, expected: np.ndarray) -> tuple[float, float, float]:
    """Shape, rate and minus log likelihood of the gamma that fits best."""

    def loss(log_parameters: np.ndarray) -> float:
        shape, rate = np.exp(log_parameters)
        return -float(log_marginal(observed, expected, shape, rate).sum())

    found = optimize.minimize(loss, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10})
    return float(np.exp(found.x[0])), float(np.exp(found.x[1])), float(found.fun)


def test_scottish_lip_cancer() -> None:
    """Shape 1.8795, rate 1.3217 by likelihood (Clayton & Kaldor, Biometrics 43 (1987) 671; reference run).

    The 56 districts' counts from memory; they give the reference fit.
    """
    shape, rate, _ = _by_likelihood(LIP, LIP_EXPECTED)
    assert (shape, rate) == pytest.approx((1.8795, 1.3217), abs=5e-4)


def test_pumps() -> None:
    """Shape .82227, rate 1.25895, -log likelihood 32.26307 (Gaver & O'Muircheartaigh, Technometrics 29 (1987) 1)."""
    shape, rate, loss = _by_likelihood(PUMPS, PUMP_HOURS)
    assert (shape, rate) == pytest.approx((0.82227, 1.25895), abs=2e-5)
    # The likelihood of the rate, without the constant of hours to the power of counts.
    assert loss == pytest.approx(32.26307, abs=5e-5)
    means = [0.0609, 0.1073, 0.0908, 0.1167, 0.5881, 0.6062, 0.7899, 0.7899, 1.4374, 1.9441]
    assert shrunken(PUMPS, PUMP_HOURS, shape, rate) == pytest.approx(means, abs=2e-4)


def test_the_chance_of_a_count_is_the_mean_over_the_gamma() -> None:
    for observed, expected, shape, rate in ((0, 2.0, 1.5, 1.5), (7, 3.3, 4.0, 4.0), (3, 0.4, 0.8, 1.3)):
        naive, _ = integrate.quad(
            lambda t, o=observed, e=expected, a=shape, b=rate: (
                stats.poisson.pmf(o, e * t) * stats.gamma.pdf(t, a, scale=1 / b)
            ),
            0,
            60,
        )
        found = log_marginal(np.array([float(observed)]), np.array([expected]), shape, rate)
        assert float(np.exp(found[0])) == pytest.approx(naive, rel=1e-6)


def test_the_spread_is_integrated_out() -> None:
    """A naive double sum over spreads and ratios for three crews."""
    observed, expected = np.array([30.0, 9, 2]), np.array([15.0, 10, 1])
    believed = ratios(observed, expected)
    t = np.linspace(1e-4, 8, 8_000)
    weights, means, over = [], [], []
    for spread in SPREADS:
        prior = stats.gamma.pdf(t, 1 / spread**2, scale=spread**2)
        evidence = 1.0
        crew_means, crew_over = [], []
        for o, e in zip(observed, expected, strict=True):
            likely = prior * stats.poisson.pmf(o, e * t)
            total = np.trapezoid(likely, t)
            evidence *= total
            crew_means.append(np.trapezoid(t * likely, t) / total)
            crew_over.append(np.trapezoid(np.where(t > 1.25, likely, 0), t) / total)
        weights.append(evidence * stats.halfnorm.pdf(spread, scale=PRIOR_SPREAD))
        means.append(crew_means)
        over.append(crew_over)
    share = np.array(weights) / np.sum(weights)
    assert believed.mean() == pytest.approx(share @ np.array(means), rel=0.005)
    assert believed.over(1.25) == pytest.approx(share @ np.array(over), abs=0.005)


def test_quantiles_hold_what_they_say() -> None:
    believed = ratios(np.array([30.0, 9, 0]), np.array([15.0, 10, 1]))
    for probability in (0.025, 0.5, 0.975):
        at = believed.quantile(probability)
        assert [1 - believed.over(float(one))[place] for place, one in enumerate(at)] == pytest.approx(
            [probability] * 3, abs=1e-6
        )


def test_the_less_is_known_the_nearer_to_the_others() -> None:
    observed, expected = np.array([3.0, 30, 120, 40, 41, 38, 44]), np.array([1.5, 15, 60, 40, 40, 40, 40])
    mean = ratios(observed, expected).mean()
    assert 1 < mean[0] < mean[1] < mean[2] < 2


def test_intervals_hold_the_true_ratio() -> None:
    """Eight crews whose ratios are gamma with spread 0.35, 100 times: 95 % intervals hold 92 to 98 %."""
    rng = np.random.default_rng(9)
    expected = np.array([2.0, 5, 10, 20, 30, 40, 50, 60])
    held = []
    for _ in range(100):
        true = rng.gamma(1 / 0.35**2, 0.35**2, 8)
        believed = ratios(rng.poisson(expected * true).astype(float), expected)
        held.append((believed.quantile(0.025) <= true) & (true <= believed.quantile(0.975)))
    assert 0.92 <= np.mean(held) <= 0.98
