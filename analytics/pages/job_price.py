"""What a planned job should cost: every crack with what it takes and its price, and all of them together.

What each crack needs first stands before its price. A crack that is not one to inject has no price and is left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

from analytics.answers.quoting import Quotes
from analytics.contract import words
from analytics.contract.roles import PRICES_PAGE
from analytics.contract.rules import DO_NOT_INJECT
from analytics.decisions.quote import JobQuote, Quote, Span
from analytics.decisions.triage import Flag
from analytics.pages.job_sheet import stops
from analytics.pages.page import Column, Figure, Figures, Part, Section, Table, Words
from analytics.pages.price_said import BAD_END, FLOOR, TARGET, price_said

TITLE = "What it should cost"
HOLDS = ("quote", PRICES_PAGE)
WORK = "work, with travel and set-up"
OF_JOBS, SUMMED = "of whole jobs, not the cracks' ends added up", "the cracks' middles added up"
WORKED_OUT = """
**Each crack.** Litres, minutes, floor and target are worked out as on the page that checks a quote; set-up and travel
are shared out evenly over the cracks priced here.

**All together.** The middles are added up. The intervals of litres and person-hours are calibrated on whole jobs of
your own (split-conformal): the errors of one job's cracks, by one crew in one wall, neither add up nor cancel out, so
the cracks' ends are not added. Floor and target are sums of the cracks' middles and have no interval: how far the costs
of one job's cracks go wrong together is not measured. Margin = (price quoted - floor) / price quoted.

**Limits.** A crack that an engineer looks at first, or that must be measured first, is priced as it stands in the
records, as if it were injected as planned. One that an engineer decided not to inject, or that is too narrow to inject,
is left out.
"""
_SPANS = ("litres", "minutes")
_NUMBERS = (*(f"{name}{end}" for name in _SPANS for end in ("", "_low", "_high")), "floor", "bad_end", "target")


@dataclass(frozen=True)
class _Whole:
    """The cracks priced, together, and those left out, each with why; what was quoted is for both."""

    found: Quotes
    job: JobQuote
    left_out: dict[str, str]

    @property
    def spans(self) -> tuple[Span, Span]:
        """Litres and person-hours; a job of one crack is that crack."""
        only = self.found.quotes[0]
        return (only.litres, only.hours) if self.job.cracks == 1 else (self.job.litres, self.job.hours)


def section(found: Quotes, flags: Sequence[Flag], *, answered: bool = False) -> Section:
    """The section of one job; ``found`` as ``quote_job`` gives it, ``flags`` of all its cracks in order of number.

    ``answered``: what ``answer`` says has been said already.
    """
    left_out = _left_out(flags)
    gone = tuple(
        Words(f"Left out, without a price: {crack_id}, {why}.", "strong") for crack_id, why in left_out.items()
    )
    first = stops([flag for flag in flags if flag.needs != DO_NOT_INJECT])
    said = () if answered else (Words(answer(found, flags)),)
    if not found.jobs:
        return Section(TITLE, (*first, *gone, *said), holds=HOLDS)
    unlike = tuple(
        Words(f"{each.crack_id}: {_lowered(each.unlike.words)}", "strong") for each in found.quotes if each.unlike
    )
    whole = _Whole(found, found.jobs[0], left_out)
    parts = (*said, *unlike, _cracks(found, flags), _together(whole), *_remarks(found))
    return Section(TITLE, (*first, *gone, *parts), holds=HOLDS)


def answer(found: Quotes, flags: Sequence[Flag], whose: str = "Its", *, first: str = "") -> str:
    """All cracks priced in one sentence; ``first`` is said before anything else of them."""
    if not found.jobs:
        return "No crack of this job is one to inject, so it has no price here."
    return _answer(_Whole(found, found.jobs[0], _left_out(flags)), whose, first)


def _left_out(flags: Sequence[Flag]) -> dict[str, str]:
    return {flag.crack_id: flag.unpriced for flag in flags if flag.unpriced}


def _lowered(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _answer(whole: _Whole, whose: str, first: str) -> str:
    """All cracks priced in one sentence, which names those without a price that keep the whole from having one."""
    job, (litres, hours) = whole.job, whole.spans
    takes = [
        words.estimate(span.expected, span.low, span.high, digits, unit) + of
        for span, digits, unit, of in ((litres, 2, "L", " of resin"), (hours, 1, "h", " of work"))
        if span.expected is not None
    ]
    said = [part for part in (first, " and ".join(takes)) if part]
    if job.floor is None:
        return f"{_counted(whole, whose)}: {'; '.join((*said, _no_price(whole)))}."
    priced = price_said(job.floor, job.target, None if whole.left_out else job.price, whole.found.currency)
    return f"{_counted(whole, whose)}: {'; '.join((*said, priced))}."


def _no_price(whole: _Whole) -> str:
    unpriced = [each.crack_id for each in whole.found.quotes if each.price.floor is None]
    if whole.job.cracks == 1:
        return "no price"
    return f"no price together, as {', '.join(unpriced)} {'has' if len(unpriced) == 1 else 'have'} none"


def _counted(whole: _Whole, whose: str) -> str:
    cracks, left_out = whole.job.cracks, whole.left_out
    if left_out:
        every = words.counted(cracks + len(left_out), "crack")
        return f"{words.number(cracks)} of {every}, without {', '.join(left_out)}"
    return f"{whose} {words.counted(cracks, 'crack')} together" if cracks > 1 else f"{whose} one crack"


def _cracks(found: Quotes, flags: Sequence[Flag]) -> Table:
    """A row a crack, what it needs before what it costs."""
    quotes = {each.crack_id: each for each in found.quotes}
    schema = {"crack_id": pl.String, "needs": pl.String, "ports": pl.Int64} | dict.fromkeys(_NUMBERS, pl.Float64)
    made = [{"crack_id": flag.crack_id, "needs": flag.needs} | _numbers(quotes.get(flag.crack_id)) for flag in flags]
    columns = (
        Column("crack_id", "crack"),
        Column("needs", "what it needs", kind="action"),
        _spanned("litres", "resin", "L", 2),
        _spanned("minutes", "labour", "min", 0, "person-minutes, without travel and set-up"),
        Column("ports", "ports", kind="number", digits=0),
        *(
            Column(name, told, kind="number", unit=found.currency, digits=0, help=said)
            for name, told, said in (
                ("floor", "floor", FLOOR),
                ("bad_end", "at the bad end", f"the floor with {BAD_END}"),
                ("target", "target", TARGET),
            )
        ),
    )
    held = f"The intervals hold {words.level(found.level)} of such cracks."
    note = f"What each crack takes and costs, injected as planned. {held}"
    return Table(columns, pl.DataFrame(made, schema=schema, strict=False), "Each crack", note)


def _spanned(key: str, label: str, unit: str, digits: int, said: str = "") -> Column:
    return Column(key, label, "number", unit, said, low=f"{key}_low", high=f"{key}_high", digits=digits)


def _numbers(quote: Quote | None) -> dict[str, object]:
    """What a crack takes and costs; nothing where it is left out."""
    if quote is None:
        return {}
    price = quote.price
    spans = zip(_SPANS, (quote.litres, quote.minutes), strict=True)
    told = {f"{name}{end}": value for name, span in spans for end, value in _ends(span)}
    return told | {
        "ports": quote.take_off.ports, "floor": price.floor, "bad_end": price.bad_end, "target": price.target
    }  # fmt: skip


def _ends(span: Span) -> tuple[tuple[str, float | None], ...]:
    return (("", span.expected), ("_low", span.low), ("_high", span.high))


def _together(whole: _Whole) -> Figures:
    """The whole job: what is added up, and what has an interval of its own."""
    job, (litres, hours), currency = whole.job, whole.spans, whole.found.currency
    level = f"{words.level(whole.found.level)} interval"
    ends, summed = (f"{level} {OF_JOBS}", SUMMED) if job.cracks > 1 else (level, "")
    rows = (
        Figure("resin", litres.expected, litres.low, litres.high, unit="L", digits=2, note=ends),
        Figure(WORK, hours.expected, hours.low, hours.high, unit="h", digits=1, note=f"person-hours, {ends}"),
        Figure("floor", job.floor, kind="money", unit=currency, note=summed),
        Figure("target", job.target, kind="money", unit=currency, note=summed),
    )
    told = (row if row.value is not None else replace(row, note="") for row in rows)
    return Figures((*told, *(_quoted(whole) if job.price is not None else ())))


def _quoted(whole: _Whole) -> list[Figure]:
    """The price quoted and the margin it leaves; no margin where it may hold more than what is priced here."""
    job, more = whole.job, ""
    if whole.left_out:
        more = f"for all {job.cracks + len(whole.left_out)} cracks, so no margin is told of {job.cracks} of them"
    quoted = Figure("price quoted", job.price, kind="money", unit=whole.found.currency, note=more)
    if job.margin is None or more:
        return [quoted]
    return [quoted, Figure("margin left", job.margin, kind="percent", digits=0, note="of the price, above the floor")]


def _remarks(found: Quotes) -> tuple[Part, ...]:
    """What was assumed or is missing, said once, of which cracks where not of all."""
    of: dict[str, list[str]] = {}
    for quote in found.quotes:
        for note in quote.notes:
            of.setdefault(note, []).append(quote.crack_id)
    every = len(found.quotes)
    own = (note if len(ids) == every else f"{', '.join(ids)}: {_lowered(note)}" for note, ids in of.items())
    return tuple(Words(text, "muted") for text in (*own, *found.said))
