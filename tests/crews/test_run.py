"""Runs over time: the published weights, the in-control run lengths, and the false alarms that are promised."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.crews.run import CREW_YEARS_A_FALSE_ALARM, climb, run_limit, runs, weights


def steiner(leaked: float, chance: np.ndarray | float, ratio: float = 2.0) -> np.ndarray:
    """The weight of one case with this chance, Steiner et al., Biostatistics 1 (2000) 441, p. 446."""
    return np.asarray(leaked * np.log(ratio) - np.log(1 - chance + ratio * np.asarray(chance)))


def expit(x: float) -> float:
    return float(1 / (1 + np.exp(-x)))


@pytest.mark.parametrize(
    ("score", "ratio", "died", "survived"),
    [
        (0, 2.0, 0.66884, -0.02430),
        (50, 2.0, 0.25981, -0.43334),
        (0, 0.5, -0.68077, 0.01238),
        (50, 0.5, -0.37679, 0.31635),
    ],
)
def test_published_weights_of_single_cases(score: float, ratio: float, died: float, survived: float) -> None:
    """Parsonnet scores: logit p = -3.68 + 0.077 score (Steiner et al. 2000)."""
    chance = expit(-3.68 + 0.077 * score)
    assert float(steiner(1, chance, ratio)) == pytest.approx(died, abs=1e-5)
    assert float(steiner(0, chance, ratio)) == pytest.approx(survived, abs=1e-5)


def test_weights_of_rigdon_and_fricker() -> None:
    """Rigdon & Fricker, in Innovative Statistical Methods for Public Health Data (2015), p. 225: score 19."""
    chance = expit(-3.67 + 0.077 * 19)
    assert float(steiner(0, chance)) == pytest.approx(-0.09451, abs=2e-5)
    assert float(steiner(0, chance, 0.5)) == pytest.approx(0.05083, abs=2e-5)


def test_a_months_weight_is_that_of_its_cracks_cut_into_short_times() -> None:
    """In continuous time: 200 cracks, 3 leak-backs, 1.7 expected, each month cut into ever shorter spells."""
    expected, leaked, cracks = 1.7, 3, 200
    apart = []
    for spells in (1, 10, 1000):
        chance = expected / cracks / spells
        cases = cracks * spells
        summed = leaked * float(steiner(1, chance)) + (cases - leaked) * float(steiner(0, chance))
        apart.append(abs(summed - float(weights(np.array([float(leaked)]), np.array([expected]))[0])))
    assert apart[0] > apart[1] > apart[2]
    assert apart[2] < 1e-4


@pytest.mark.parametrize(("limit", "months"), [(2.0, 63.4), (2.5, 98.7), (3.0, 168.9), (3.5, 289.8), (4.0, 512.1)])
def test_months_to_a_false_alarm_at_0_8_expected_a_month(limit: float, months: float) -> None:
    """In-control run lengths by Markov chain; here the rate of alarms in long runs that start again."""
    rng = np.random.default_rng(8)
    expected = np.full((6000, 1), 0.8)
    _, alarms = climb(weights(rng.poisson(0.8, (6000, 300)).astype(float), expected), limit)
    assert alarms.size / alarms.sum() == pytest.approx(months, rel=0.04)


def test_cases_to_a_false_alarm_of_steiners_chart() -> None:
    """70 % of cases at 2 %, 30 % at 12 %, odds ratio 2, limit 3: 1622.6 (simulation, standard error 25)."""
    rng = np.random.default_rng(7)
    chance = np.where(rng.random((12_000, 400)) < 0.7, 0.02, 0.12)
    leaked = rng.random(chance.shape) < chance
    weight = np.where(leaked, steiner(1, chance), steiner(0, chance))
    _, alarms = climb(weight, 3.0)
    assert alarms.size / alarms.sum() == pytest.approx(1622.6, rel=0.06)


@pytest.mark.parametrize(
    ("expected", "limit", "false", "found"),
    [(0.3, 3.0, 0.052, 0.67), (0.8, 3.5, 0.067, 0.94), (2.0, 4.0, 0.059, 0.999)],
)
def test_alarms_within_two_years(expected: float, limit: float, false: float, found: float) -> None:
    """Chance of a false alarm, and of noticing a doubling, in 24 months (own simulation)."""
    rng = np.random.default_rng(2)
    months = np.full((24, 1), expected)
    for rate, share in ((1, false), (2, found)):
        _, alarms = climb(weights(rng.poisson(rate * expected, (24, 20_000)).astype(float), months), limit)
        assert alarms.any(axis=0).mean() == pytest.approx(share, abs=0.012)


def test_the_run_starts_again_after_an_alarm_and_never_goes_below_zero() -> None:
    weight = np.array([[-1.0], [2.0], [2.0], [0.5], [-2.0], [1.0]])
    heights, alarms = climb(weight, 3.0)
    assert heights[:, 0].tolist() == [0, 2, 4, 0.5, 0, 1]
    assert alarms[:, 0].tolist() == [False, False, True, False, False, False]


@pytest.mark.parametrize("scale", [0.02, 0.4, 3.0])
@pytest.mark.parametrize("years", [1, 6])
def test_false_alarms_come_as_often_as_promised(scale: float, years: int) -> None:
    """A crew that grows: by other draws than the limit's, one alarm in the stated crew-years, or a little fewer."""
    expected = scale * np.linspace(0.3, 1.7, 12 * years)
    limit = run_limit(expected)
    chance = np.random.default_rng(31).poisson(expected[:, None], (len(expected), 20_000)).astype(float)
    _, alarms = climb(weights(chance, expected[:, None]), limit)
    promised = 1 - np.exp(-years / CREW_YEARS_A_FALSE_ALARM)
    happened = alarms.any(axis=0).mean()
    assert happened <= promised + 0.013
    if scale >= 0.4:  # where hardly anything is expected, one leak-back more or less is a large step
        assert happened >= promised - 0.02


def test_false_alarms_come_up_to_twice_as_often_where_the_expected_is_off_by_a_tenth() -> None:
    """What the page says of its own limit: the true level of each crew lies about its expected, 10 % either way."""
    rng, expected = np.random.default_rng(2), np.full((60, 1), 0.8)
    true = expected * rng.gamma(100, 0.01, 20_000)
    _, alarms = climb(weights(rng.poisson(true).astype(float), expected), run_limit(expected[:, 0]))
    years = alarms.size / 12
    assert 1.1 < alarms.sum() / years * CREW_YEARS_A_FALSE_ALARM < 2


def _monthly(crews: dict[str, tuple[list[int], list[float]]]) -> pl.DataFrame:
    rows = [
        {"crew_id": crew, "month": date(2020 + n // 12, n % 12 + 1, 1), "observed": o, "expected": e}
        for crew, (observed, expected) in crews.items()
        for n, (o, e) in enumerate(zip(observed, expected, strict=True))
    ]
    return pl.DataFrame(rows)


def test_a_crew_twice_as_bad_is_noticed_and_a_level_one_is_not() -> None:
    rng = np.random.default_rng(5)
    expected = [0.8] * 60
    monthly = _monthly(
        {
            "level": ([1, 1, 1, 0, 1] * 12, expected),
            "bad": (rng.poisson(1.8, 60).tolist(), expected),
            "new": ([0] * 50 + [0, 1] * 5, [0.0] * 50 + [0.4] * 10),
        }
    )
    found = runs(monthly.sample(fraction=1, shuffle=True, seed=1))
    alarms = dict(found.group_by("crew_id").agg(pl.col("alarm").sum()).iter_rows())
    assert alarms["bad"] >= 2
    assert alarms["level"] == 0
    assert found.filter(pl.col("crew_id") == "new").height == 10
    assert found.equals(runs(monthly))


def test_names_do_not_change_a_limit() -> None:
    expected = np.linspace(0.2, 1.0, 36).tolist()
    observed = [1, 0, 0, 2] * 9
    one = runs(_monthly({"A": (observed, expected), "B": (observed[::-1], expected)}))
    other = runs(_monthly({"Z": (observed, expected), "B": (observed[::-1], expected)}))
    heights = ["height", "limit", "alarm"]
    assert (
        one.filter(pl.col("crew_id") == "A")
        .select(heights)
        .equals(other.filter(pl.col("crew_id") == "Z").select(heights))
    )


def test_nothing_watched_is_no_run() -> None:
    assert runs(_monthly({"A": ([0, 0], [0.0, 0.0])})).is_empty()
