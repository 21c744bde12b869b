"""One planned job quoted by itself, on the demo's records."""

from dataclasses import astuple
from pathlib import Path

import pytest

from analytics.answers.flagging import flags
from analytics.answers.quoting import quote_job, quote_planned
from analytics.answers.records import Records
from analytics.decisions.quote import Price


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def test_one_job_is_quoted_as_it_is_among_all(records: Records) -> None:
    of_the_plan = quote_planned(records)
    left_out = {flag.job_id for flag in flags(records).flags if flag.unpriced}
    job = max((job for job in of_the_plan.jobs if job.job_id not in left_out), key=lambda job: job.cracks)
    found = quote_job(records, job.job_id)
    own = [each for each in of_the_plan.quotes if each.job_id == job.job_id]
    assert [each.crack_id for each in found.quotes] == [each.crack_id for each in own]
    for mine, among in zip(found.quotes, own, strict=True):
        assert float(mine.price.floor or 0) == pytest.approx(float(among.price.floor or 0))
        assert astuple(mine.litres) == pytest.approx(astuple(among.litres))
    [whole] = found.jobs
    assert (whole.cracks, whole.price) == (job.cracks, job.price)
    assert astuple(whole.hours) == pytest.approx(astuple(job.hours))
    assert found.said == of_the_plan.said


def test_the_list_of_all_prices_no_crack_that_is_not_one_to_inject(records: Records) -> None:
    of_the_plan = quote_planned(records)
    left_out = [each for each in of_the_plan.quotes if each.flag.unpriced]
    assert {each.crack_id for each in left_out} == {each.crack_id for each in flags(records).flags if each.unpriced}
    for declined in left_out:
        assert declined.price == Price()
        found = quote_job(records, declined.job_id)
        mine = {each.crack_id: each.price.floor for each in found.quotes}
        own = [each for each in of_the_plan.quotes if each.job_id == declined.job_id and not each.flag.unpriced]
        assert {each.crack_id: each.price.floor for each in own} == pytest.approx(mine)
        whole = [job for job in of_the_plan.jobs if job.job_id == declined.job_id]
        for job, alone in zip(whole, found.jobs, strict=True):
            assert job.cracks == alone.cracks
            assert job.floor == pytest.approx(alone.floor)
        assert all(job.margin is None for job in whole)


def test_a_crack_that_is_not_one_to_inject_is_not_quoted_with_its_job(records: Records) -> None:
    left_out = {each.crack_id: each for each in flags(records).flags if each.unpriced}
    assert {reason.rule for each in left_out.values() for reason in each.reasons} >= {"engineer_decided", "too_narrow"}
    for job_id in {each.job_id for each in left_out.values()}:
        quoted = {each.crack_id for each in quote_job(records, job_id).quotes}
        cracks = {each.crack_id for each in flags(records).flags if each.job_id == job_id}
        assert quoted == cracks - left_out.keys()
