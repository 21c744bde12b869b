"""Paper on offer: what can be printed of a job, the line on every sheet, and file names that any system takes."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from zlib import crc32

import polars as pl

from analytics.answers import quoting
from analytics.answers.demonstrating import INVENTED
from analytics.answers.flagging import Flags, unanswered
from analytics.answers.records import Records
from analytics.contract import words
from analytics.pages import job, job_sheet, referral
from analytics.pages.page import Document, Download, Downloads, Page

SIX_DAYS = timedelta(days=6)

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")


def about(records: Records) -> str:
    """Whose it is, where that is set, how far the records reach, and that the demo is invented."""
    reach = f"records to {words.full_day(records.as_of)}" if records.as_of else "nothing quoted, done or reported yet"
    invented = ["an invented business, for show"] if records.store.meta(INVENTED) else []
    business = [records.policy.papers.business] if records.policy.papers.business else []
    first, *others = (*invented, reach)
    return " · ".join((*business, words.capital(first), *others))


def file_name(kind: str, name: str, ending: str) -> str:
    """``job-J-4955.pdf``: only letters, digits, dots and dashes, and never the same for two names."""
    safe = _UNSAFE.sub("-", name).strip("-.")
    told_apart = safe if safe == name else f"{safe}-{crc32(name.encode()):08x}".lstrip("-")
    return f"{kind}-{told_apart}.{ending}"


def on_either(label: str, made: Callable[[], Document], a4: str, letter: str) -> tuple[Download, Download]:
    """A document offered on A4 and on US Letter, under these names of files."""
    return Download(label, a4, made), Download("Print it on US Letter", letter, made, paper="letter")


def of_quote(made: Callable[[], Document]) -> Downloads:
    """A quote as it was typed, to print."""
    return Downloads(on_either("Print this quote", made, "quote.pdf", "quote-letter.pdf"))


def week_sheets(records: Records, found: Flags, rows: pl.DataFrame) -> tuple[Downloads, ...]:
    """The sheets of the next week that ``rows`` (job_id, planned_on) have work in, in one file; none without a day.

    Of work whose days are all past, of its first week.
    """
    planned = rows.drop_nulls("planned_on").sort("planned_on", "job_id")
    if planned.is_empty():
        return ()
    ahead = planned if found.as_of is None else planned.filter(pl.col("planned_on") >= found.as_of)
    monday = week_of((planned if ahead.is_empty() else ahead)["planned_on"][0])
    jobs = in_week(planned, monday)
    label = f"Print the sheets of {words.counted(len(jobs), 'job')} in the week of {words.day(monday)}"
    make = partial(_together, records, found, jobs, f"Job sheets, week of {words.full_day(monday)}")
    return (Downloads((Download(label, f"jobs-week-of-{monday}.pdf", make),)),)


def week_of(day: date) -> date:
    """The Monday of the week that holds ``day``."""
    return day - timedelta(days=day.weekday())


def in_week(planned: pl.DataFrame, monday: date) -> list[str]:
    """The jobs planned from that Monday to the Sunday after, by day and number."""
    week = planned.filter(pl.col("planned_on").is_between(monday, monday + SIX_DAYS)).sort("planned_on", "job_id")
    return week["job_id"].unique(maintain_order=True).to_list()


def _together(records: Records, found: Flags, jobs: Sequence[str], title: str) -> Document:
    pages = tuple(page for job_id in jobs for page in sheet(records, found, job_id).pages)
    return Document(title, pages, about(records), found.as_of, one_sheet=True)


def sheet(records: Records, found: Flags, job_id: str) -> Document:
    """The job sheet of a planned job, with the litres that each of its cracks takes."""
    return job_sheet.build(found, job_id, about(records), litres=quoting.litres_of_job(records, job_id))


def with_sheets(page: Page, records: Records, found: Flags, job_id: str) -> Page:
    """The job's page with its sheet to print, and its referral where an engineer looks first."""
    own = partial(sheet, records, found, job_id)
    name = partial(file_name, name=job_id, ending="pdf")
    offered = [*on_either("Print the job sheet", own, name("job"), name("job-letter"))]
    if unanswered(flag for flag, _ in job.of_job(found, job_id)):
        asked = partial(referral.build, found, job_id, about(records))
        offered.append(Download("Print the engineer's referral", name("referral"), asked))
    return replace(page, parts=(Downloads(tuple(offered)), *page.parts))
