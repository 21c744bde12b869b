"""What the pages of a store offer to do, as the pages themselves say."""

from collections.abc import Iterator

from analytics.answers.records import Records
from analytics.pages.form import Form
from analytics.pages.offers import offers
from analytics.pages.questions import PAGES
from analytics.pages.upload import Upload
from analytics.store import Store

STATUSES = ("planned", "done", "lost")
"""What is offered of a job goes by its status; quoted and cancelled ones are as lost ones."""


def job_of(store: Store, status: str) -> str | None:
    """The first job in that state, one that a customer called about before others; None where there is none."""
    query = f"""
        select j.job_id from jobs j left join callbacks k on k.job_id = j.job_id
        where j.status = '{status}' order by k.callback_id is null, j.job_id limit 1
    """
    return next(iter(store.frame(query)["job_id"]), None)


def offered(records: Records) -> Iterator[tuple[str, str, Form | Upload]]:
    """Every form and upload: the page's path, the status of the job it is about or nothing, and itself."""
    with records.store.reading():
        jobs = {each: job for each in STATUSES if (job := job_of(records.store, each))}
        for path, (_, build) in PAGES.items():
            anyhow = list(offers(build(records, {}).parts))
            yield from ((path, "", part) for part in anyhow)
            for status, job in jobs.items():
                of_job = offers(build(records, {"job_id": job}).parts)
                yield from ((path, status, part) for part in of_job if part not in anyhow)
