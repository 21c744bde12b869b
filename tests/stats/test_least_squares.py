"""Least squares against certified values, and shrunken effects against the algebra."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.stats.conformal import smearing
from analytics.stats.least_squares import Floats, least_squares

# NIST Statistical Reference Datasets, Norris (linear regression, lower difficulty): y, x
NORRIS = (
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
)  # fmt: skip
# NIST Statistical Reference Datasets, Longley (higher difficulty; J. W. Longley, JASA 62 (1967) 819); the data are from
# memory, the certified values below hold them to account. y, then six columns.
LONGLEY = (
    (60323, 83.0, 234289, 2356, 1590, 107608, 1947),
    (61122, 88.5, 259426, 2325, 1456, 108632, 1948),
    (60171, 88.2, 258054, 3682, 1616, 109773, 1949),
    (61187, 89.5, 284599, 3351, 1650, 110929, 1950),
    (63221, 96.2, 328975, 2099, 3099, 112075, 1951),
    (63639, 98.1, 346999, 1932, 3594, 113270, 1952),
    (64989, 99.0, 365385, 1870, 3547, 115094, 1953),
    (63761, 100.0, 363112, 3578, 3350, 116219, 1954),
    (66019, 101.2, 397469, 2904, 3048, 117388, 1955),
    (67857, 104.6, 419180, 2822, 2857, 118734, 1956),
    (68169, 108.4, 442769, 2936, 2798, 120445, 1957),
    (66513, 110.8, 444546, 4681, 2637, 121950, 1958),
    (68655, 112.6, 482704, 3813, 2552, 123366, 1959),
    (69564, 114.2, 502601, 3931, 2514, 125368, 1960),
    (69331, 115.7, 518173, 4806, 2572, 127852, 1961),
    (70551, 116.9, 554894, 4007, 2827, 130081, 1962),
)
TREES = Path(__file__).parents[1] / "reference" / "trees.csv"


def levelled(table: tuple[tuple[float, ...], ...]) -> tuple[np.ndarray, np.ndarray]:
    """A column of ones before the columns, and the values."""
    values = np.array(table, dtype=np.float64)
    return np.column_stack([np.ones(len(values)), values[:, 1:]]), values[:, 0]


def digits(found: float, certified: float) -> float:
    """How many digits are right: the log relative error."""
    return float(-np.log10(abs(found - certified) / abs(certified))) if found != certified else 16.0


def spread(residuals: Floats, columns: int) -> float:
    """The residual standard deviation of a fit on so many columns."""
    return float(np.sqrt(residuals @ residuals / (len(residuals) - columns)))


def test_norris_to_ten_digits() -> None:
    # NIST StRD, Norris, certified values
    fit = least_squares(*levelled(NORRIS))
    for found, certified in zip(fit.coefficients, (-0.262323073774029, 1.00211681802045), strict=True):
        assert digits(found, certified) > 10
    assert digits(spread(fit.residuals, 2), 0.884796396144373) > 10


def test_longley_to_eight_digits() -> None:
    # NIST StRD, Longley, certified values (to the digits kept here)
    fit = least_squares(*levelled(LONGLEY))
    certified = (
        -3482258.63459582, 15.0618722713733, -0.358191792925910e-1, -2.02022980381683, -1.03322686717359,
        -0.511041056535807e-1, 1829.15146461355,
    )  # fmt: skip
    for found, known in zip(fit.coefficients, certified, strict=True):
        assert digits(found, known) > 8
    assert digits(spread(fit.residuals, 7), 304.854073561965) > 8


def test_cherry_trees_by_their_logs() -> None:
    # R, data set trees, lm(log(Volume) ~ log(Girth) + log(Height)): reference run
    trees = pl.read_csv(TREES).select(pl.all().cast(pl.Float64).log())
    x = np.column_stack([np.ones(trees.height), trees["Girth"], trees["Height"]])
    fit = least_squares(x, trees["Volume"].to_numpy())
    assert fit.coefficients == pytest.approx([-6.63161713, 1.98264991, 1.11712333], abs=1e-8)
    assert spread(fit.residuals, 3) == pytest.approx(0.08138607, abs=1e-8)
    assert np.array([1.0, np.log(12), np.log(75)]) @ fit.coefficients == pytest.approx(3.11824953, abs=1e-8)
    assert smearing(fit.residuals) == pytest.approx(1.00296496, abs=1e-8)  # Duan 1983; reference run


def test_a_column_that_tells_nothing_gets_no_coefficient() -> None:
    x, y = levelled(NORRIS)
    with_nothing = least_squares(np.column_stack([x, np.zeros(len(x))]), y)
    assert with_nothing.coefficients[:2] == pytest.approx(least_squares(x, y).coefficients)
    assert with_nothing.coefficients[2] == 0


def test_a_penalty_gives_the_normal_equations_with_it_on_the_diagonal() -> None:
    rng = np.random.default_rng(3)
    x, y, penalty = rng.normal(size=(60, 4)), rng.normal(size=60), np.array([0.0, 0.0, 5.0, 50.0])
    by_hand = np.linalg.solve(x.T @ x + np.diag(penalty), x.T @ y)
    fit = least_squares(x, y, penalty)
    assert fit.coefficients == pytest.approx(by_hand)
    assert fit.residuals == pytest.approx(y - x @ by_hand)


@given(st.floats(1e-3, 1e3), st.integers(0, 2**31))
@settings(max_examples=30, deadline=None)
def test_the_units_of_a_column_change_nothing_but_its_coefficient(unit: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    x, y = rng.normal(size=(25, 3)), rng.normal(size=25)
    one, other = least_squares(x, y), least_squares(x * [1, unit, 1], y)
    assert other.coefficients * [1, unit, 1] == pytest.approx(one.coefficients, rel=1e-6, abs=1e-9)
    assert other.residuals == pytest.approx(one.residuals, abs=1e-9)
