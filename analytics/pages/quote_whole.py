"""A job of several cracks quoted as it is typed: what each takes and needs, and one price for all of them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from analytics.answers import quoting
from analytics.answers.quote_input import typed_job
from analytics.answers.quoting import Quotes
from analytics.answers.records import Records
from analytics.decisions.quote import Quote
from analytics.decisions.triage import Flag
from analytics.pages import comparable_jobs, job_price, papers, quote_paper, upcoming
from analytics.pages.job import ACTION_SAID, drawing, reasons
from analytics.pages.job_sheet import STOPS
from analytics.pages.page import Document, Folded, Page, Part, Section, Words
from analytics.pages.quote_choices import ORDER, OWN

WHOSE = "The job's"
OF_JOB = tuple(name for name in ORDER if name not in {*OWN, "cracks_on_job"})
FOR_ALL = (
    "The price is the job's. Wall thickness, access, temperature, port spacing, crew, travel and warranty are those of "
    "the first crack; each has its own length, width, direction, water, resin, offset and movement."
)


def build(records: Records, cracks: Sequence[Mapping[str, Any]], price: Decimal | None) -> Page:
    """The page of one job; LeakbackError or UnknownNameError for the first crack that cannot be."""
    every = quoting.quote(records, typed_job(cracks, price))
    flags = [quote.flag for quote in every.quotes]
    found = replace(every, quotes=[quote for quote in every.quotes if not quote.flag.unpriced])
    body = (*_parts(found, every), Words(FOR_ALL, tone="muted"))
    page = Page(_answer(found, flags), (*body, *upcoming.cautions()))
    jobs = quote_paper.asked(every.quotes[0], OF_JOB, found.currency, price)
    about = (Words(quote_paper.FOR_SHOP, "strong"), Words(jobs, "muted"))
    on_paper = replace(page, parts=(*about, *body, *quote_paper.cautions(every.quotes)))
    sheet = papers.of_quote(partial(_sheet, on_paper, papers.about(records), found.as_of))
    return replace(page, parts=(sheet, *page.parts), worked_out=job_price.WORKED_OUT)


def _answer(found: Quotes, flags: Sequence[Flag]) -> str:
    """The whole, and what comes first of what its cracks need, before the price where it stops the work."""
    needs = {flag.needs for flag in flags}
    first = next((action for action in ACTION_SAID if action in needs), "")
    said = ACTION_SAID.get(first, "")
    if first in STOPS and found.jobs:
        return job_price.answer(found, flags, WHOSE, first=said)
    whole = job_price.answer(found, flags, WHOSE)
    return f"{whole.removesuffix('.')}; {said}." if said else whole


def _parts(found: Quotes, every: Quotes) -> tuple[Part, ...]:
    priced = job_price.section(found, [quote.flag for quote in every.quotes], answered=True)
    return (priced, *(_crack(found, quote) for quote in every.quotes))


def _crack(found: Quotes, quote: Quote) -> Section:
    own, flag = Words(quote_paper.asked(quote, OWN, found.currency)), quote.flag
    if flag.unpriced:
        return Section(flag.crack_id.capitalize(), (own, *reasons(flag)))
    like = Folded(f"{comparable_jobs.TITLE}: {flag.crack_id}", (comparable_jobs.table(found, quote),))
    drawn = drawing({**quote.facts, "port_spacing_mm": quote.take_off.spacing_mm})
    return Section(flag.crack_id.capitalize(), (own, *reasons(flag), like), aside=drawn)


def _sheet(page: Page, line: str, as_of: date | None) -> Document:
    return Document("Quote checked", (page,), line, as_of, one_sheet=True)
