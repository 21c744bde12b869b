"""Why a planned crack's risk is what it is, and what would change it."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analytics.answers.explaining import LEAST_MULTIPLE, NO_MODEL, ONE_RATE, explain
from analytics.answers.flagging import Flags, flags
from analytics.answers.records import Records
from analytics.risk import Penalties, fit


@pytest.fixture(scope="module")
def found(demo_store: Path) -> Flags:
    return flags(Records.of(demo_store))


@pytest.fixture(scope="module")
def job(found: Flags) -> str:
    """A job with a crack of epoxy on a wet wall."""
    wet = found.planned.filter(resin="epoxy", water="seeping")
    return str(wet["job_id"][0])


def test_every_crack_of_the_job_is_taken_apart(found: Flags, job: str) -> None:
    explained = explain(found, job)
    assert list(explained.cracks) == sorted(found.planned.filter(job_id=job)["crack_id"])
    assert explained.said == ""


def test_reasons_come_largest_first_and_small_ones_are_left_out(found: Flags, job: str) -> None:
    for one in explain(found, job).cracks.values():
        sizes = [abs(np.log(reason.multiplier)) for reason in one.reasons]
        assert sizes == sorted(sizes, reverse=True)
        assert min(sizes) >= np.log(LEAST_MULTIPLE)


def test_epoxy_on_a_wet_crack_is_named_and_foam_would_help(found: Flags, job: str) -> None:
    crack = found.planned.filter(job_id=job, resin="epoxy", water="seeping")["crack_id"][0]
    one = explain(found, job).cracks[crack]
    assert "epoxy on a wet crack" in {reason.words for reason in one.reasons[:3]}
    foam = one.changes.filter(change="with_urethane_foam").row(0, named=True)
    assert foam["ratio"] < 1
    assert foam["beyond"] == (foam["ratio_high"] < 1)
    assert one.changes["ratio"].is_sorted()
    assert {"dried", "all_steps", "in_spring"} <= set(one.changes["change"])


def test_a_changed_risk_has_its_interval(found: Flags, job: str) -> None:
    for one in explain(found, job).cracks.values():
        assert (one.changes["low"] < one.changes["risk"]).all()
        assert (one.changes["risk"] < one.changes["high"]).all()


def test_the_answer_is_plain_data_with_the_caution(found: Flags, job: str) -> None:
    answer = json.loads(json.dumps(explain(found, job).answer(), default=str, allow_nan=False))
    assert answer["caution"] == "an association in your own jobs, not a trial"
    assert answer["rows"][0]["reasons"]


def test_without_a_model_there_is_nothing_to_take_apart(found: Flags, job: str) -> None:
    assert explain(replace(found, model=None), job).said == NO_MODEL
    assert explain(replace(found, model=None), job).cracks == {}


def test_one_rate_for_all_sets_no_crack_apart(found: Flags, job: str, demo_store: Path) -> None:
    records = Records.of(demo_store)
    assert records.as_of
    follow_up = records.ask("follow_up")
    base = fit(follow_up, records.as_of, Penalties(16.0, 16.0), (), with_crews=False)
    assert explain(replace(found, model=base), job).said == ONE_RATE


def test_a_job_that_is_not_planned_has_no_cracks(found: Flags) -> None:
    assert explain(found, "J-none").cracks == {}
