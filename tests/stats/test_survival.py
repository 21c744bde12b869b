"""Product-limit curves, their variance and the log-rank test: published numbers, oracles, invariants."""

from pathlib import Path
from typing import TypeAlias

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from numpy.typing import NDArray

from analytics.errors import LeakbackError
from analytics.stats.intervals import log_log
from analytics.stats.survival import product_limit

# Freireich et al., Blood 21 (1963) 699–716, in Cox & Oakes 1984: weeks in remission, 6-MP and placebo.
TREATED = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
RELAPSED = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]

# Huster, Brookmeyer & Self, Biometrics 45 (1989) 145–156.
DIABETIC = pl.read_csv(Path(__file__).parents[1] / "reference" / "diabetic.csv")

Times: TypeAlias = NDArray[np.float64]
Failed: TypeAlias = NDArray[np.bool_]
THOUSAND = settings(max_examples=1000, deadline=None, derandomize=True)


def followed(least: int = 1) -> st.SearchStrategy[tuple[Times, Failed]]:
    """Ages with many ties, and whether each ended in an event."""
    units = st.lists(st.tuples(st.integers(1, 25), st.booleans()), min_size=least, max_size=50)
    return units.map(lambda rows: (np.array([t for t, _ in rows], float), np.array([e for _, e in rows])))


def test_remission_trial() -> None:
    curve = product_limit(TREATED, RELAPSED)
    # Cox & Oakes 1984; R survfit and lifelines 0.30 agree.
    assert curve.ages.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.survival == pytest.approx(
        [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179], abs=5e-7
    )
    assert curve.survival * np.sqrt(curve.greenwood) == pytest.approx(
        [0.076360, 0.086935, 0.096350, 0.106815, 0.114054, 0.128234, 0.134591], abs=5e-7
    )
    assert curve.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
    assert curve.events.tolist() == [3, 1, 1, 1, 1, 1, 1]


def test_remission_trial_log_log_intervals() -> None:
    reading = product_limit(TREATED, RELAPSED).read([10, 23])
    low, high = log_log(reading.survival, reading.var_log, 0.95)
    # lifelines 0.30 and R survfit(conf.type = "log-log").
    assert low == pytest.approx([0.5032, 0.1881], abs=5e-5)
    assert high == pytest.approx([0.8894, 0.6801], abs=5e-5)


def test_two_eyes_of_one_patient_fail_together() -> None:
    curve = product_limit(DIABETIC["time"], DIABETIC["status"], DIABETIC["id"])
    months = [12, 24, 36, 60]
    reading = curve.read(months)
    # R survfit(Surv(time, status) ~ 1, cluster = id), and the same without cluster.
    assert reading.survival == pytest.approx([0.8343, 0.7209, 0.6522, 0.5540], abs=5e-5)
    clustered = reading.survival * np.sqrt(reading.var_log)
    assert clustered == pytest.approx([0.02032, 0.02516, 0.02732, 0.03037], abs=5e-6)
    plain = product_limit(DIABETIC["time"], DIABETIC["status"]).read(months)
    assert plain.survival * np.sqrt(plain.var_log) == pytest.approx([0.01893, 0.02307, 0.02478, 0.02918], abs=5e-6)
    low, high = log_log(reading.survival[0], reading.var_log[0], 0.95)
    assert (float(low), float(high)) == pytest.approx((0.7900, 0.8701), abs=5e-5)


@THOUSAND
@given(followed())
def test_curve_and_its_variance_agree_with_lifelines(sample: tuple[Times, Failed]) -> None:
    times, failed = sample
    oracle = KaplanMeierFitter().fit(times, failed)
    curve = product_limit(times, failed)
    places = np.searchsorted(oracle.timeline, curve.ages)
    assert curve.survival == pytest.approx(oracle.survival_function_.to_numpy()[places, 0], abs=1e-9)
    limits = oracle.confidence_interval_.to_numpy()[places]
    ours = np.column_stack(log_log(curve.survival, curve.greenwood, 0.95))
    inside = curve.survival > 0
    assert ours[inside] == pytest.approx(limits[inside], abs=1e-9)


def weighted_log_survival(times: Times, failed: Failed, weights: NDArray[np.float64], age: float) -> float:
    """Log of the product-limit estimate, each unit counted with its weight."""
    total = 0.0
    for event in np.unique(times[failed & (times <= age)]):
        failing, watched = weights[failed & (times == event)].sum(), weights[times >= event].sum()
        total += np.log(1 - failing / watched)
    return total


@pytest.mark.parametrize("seed", range(5))
def test_clustered_variance_is_the_squared_derivative_of_log_survival_by_each_clusters_weight(seed: int) -> None:
    rng = np.random.default_rng(seed)
    times, failed, clusters = rng.integers(1, 15, 60).astype(float), rng.random(60) < 0.5, rng.integers(0, 20, 60)
    step, age = 1e-5, 10.0
    pulls = []
    for cluster in np.unique(clusters):
        nudge = step * (clusters == cluster)
        up, down = (weighted_log_survival(times, failed, 1 + sign * nudge, age) for sign in (1, -1))
        pulls.append((up - down) / (2 * step))
    curve = product_limit(times, failed, clusters)
    assert curve.clustered is not None
    assert curve.clustered[curve.ages <= age][-1] == pytest.approx(np.square(pulls).sum(), rel=1e-7)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(followed())
def test_units_that_stand_alone_have_greenwoods_variance(sample: tuple[Times, Failed]) -> None:
    curve = product_limit(*sample, np.arange(sample[0].size))
    assert curve.clustered == pytest.approx(curve.greenwood, rel=1e-9)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(followed(), st.randoms(use_true_random=False))
def test_order_of_rows_and_names_of_clusters_do_not_matter(sample: tuple[Times, Failed], random: object) -> None:
    times, failed = sample
    clusters = np.arange(times.size) // 3
    order = np.array(random.sample(range(times.size), times.size))  # type: ignore[attr-defined]
    one = product_limit(times, failed, clusters)
    other = product_limit(times[order], failed[order], [f"job {name}" for name in clusters[order]])
    assert one.survival.tolist() == other.survival.tolist()
    assert one.var_log == pytest.approx(other.var_log, rel=1e-9)


def test_clusters_widen_and_never_narrow() -> None:
    # One cluster of all: its influences cancel out, and only Greenwood's variance is left.
    curve = product_limit([1, 2, 3, 4], [1, 0, 1, 0], [7, 7, 7, 7])
    assert curve.clustered == pytest.approx([0, 0], abs=1e-12)
    assert curve.var_log.tolist() == curve.greenwood.tolist()


def test_reading_counts_an_event_at_the_age_asked_and_those_watched_up_to_it() -> None:
    reading = product_limit([5, 5, 8, 10, 12], [1, 0, 0, 1, 0]).read([0, 4.9, 5, 10, 12, 13])
    assert reading.survival == pytest.approx([1, 1, 0.8, 0.4, 0.4, 0.4])
    assert reading.events.tolist() == [0, 0, 1, 2, 2, 2]
    assert reading.watched.tolist() == [5, 5, 5, 2, 1, 0]
    assert reading.var_log == pytest.approx([0, 0, 1 / 20, 1 / 20 + 1 / 2, 1 / 20 + 1 / 2, 1 / 20 + 1 / 2])


def test_when_the_last_ones_fail_survival_is_zero_and_its_log_unbounded() -> None:
    curve = product_limit([1, 2, 2], [1, 1, 1], ["a", "a", "b"])
    assert curve.survival.tolist() == [pytest.approx(2 / 3), 0]
    assert np.isinf(curve.greenwood).tolist() == np.isinf(curve.var_log).tolist() == [False, True]


def test_without_events_everything_holds() -> None:
    reading = product_limit([3, 4], [0, 0], ["a", "b"]).read(3)
    assert [field.tolist() for field in reading] == [[1.0], [0.0], [0], [2]]


def test_impossible_inputs_are_refused() -> None:
    with pytest.raises(LeakbackError, match="at least one unit"):
        product_limit([], [])
    with pytest.raises(LeakbackError, match="for each one age"):
        product_limit([1, 2], [1])
    with pytest.raises(LeakbackError, match="for each one age"):
        product_limit([1, np.nan], [1, 0])
    with pytest.raises(LeakbackError, match="differ in length"):
        product_limit([1, 2], [1, 0], ["a"])
