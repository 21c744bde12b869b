"""Check a quote: one crack, what it takes, what it costs, what it is like, and where a price for it stands."""

from dataclasses import replace
from decimal import Decimal

from analytics.answers import experience, quoting
from analytics.answers.quote_input import typed_crack
from analytics.answers.quoting import Quotes
from analytics.answers.records import Records
from analytics.contract import words
from analytics.decisions.quote import PricePlace, Quote, Span
from analytics.errors import LeakbackError
from analytics.pages import comparable_jobs, papers, quote_figures, quote_paper, quote_whole, upcoming
from analytics.pages.job import ACTION_SAID, drawing, reasons
from analytics.pages.job_sheet import STOPS, stops
from analytics.pages.page import (
    Document,
    Figures,
    Page,
    Part,
    Said,
    Section,
    Words,
)
from analytics.pages.price_said import price_said
from analytics.pages.quote_choices import MOST_TYPED, ORDER, choices, cracks_of, further, given, given_further

PATH, TITLE = "quote", "Check a quote"
WHOLE = "Once the job is planned, its own page gives the price of the whole."
THIS = "this crack"
"""How a line that names cracks calls the only one."""
GIVE_OTHERS = "Give the length and width of every other crack for the price of the whole."

WORKED_OUT = """
**Litres and minutes.** A regression of their logs on what the take-off gives (void, length, width, ports), water,
access and resin, each crew's own pace shrunk by how much crews differ. The middle is a mean (smeared, Duan 1983). The
interval is split-conformal: fitted to the earlier three quarters of jobs, it is as wide as the errors on the latest
quarter, resin by resin where there are 100 such jobs. It holds as often as it says whatever the shape of the errors, on
average over such cracks.

**Price.** Floor = resin, ports and seal + labour with set-up + travel + the chance of a leak-back under warranty times
what one has cost on average; a second leak-back is not counted. Target = floor / (1 - margin). At the bad end litres,
minutes and leak-backs are all at the upper end of their intervals at once, which is rarer than any one of them.

**Comparable jobs.** The ten nearest finished cracks by Gower's distance (1971) over length, width and thickness (logs),
water, direction, movement, access, resin and season. A job's price is shared over its cracks by length, and brought to
today by the hourly labour rate. No finished crack is like one of which a measurement lies over 2 % outside what was
done, or whose nearest is further than 95 % of finished cracks are from theirs.

**Limits.** What is blank widens nothing here but the risk: measure it. Past prices are what was charged, not what was
right.
"""


def build(records: Records, said: Said) -> Page:
    """The crack typed in the address, or the one the page opens with."""
    basis = experience.basis(records)
    inputs = choices(basis.reference.cracks, basis.rates.currency)
    try:
        cracks = cracks_of(said, inputs)
        inputs = (*inputs, *further(cracks))
        asked = given(said, inputs[: len(ORDER)])
        price = asked.pop("price")
        exact = None if price is None else Decimal(str(price))
        del asked["cracks_on_job"]
        others = given_further(said, asked, cracks)
        if others and len(others) + 1 == cracks:
            page = quote_whole.build(records, [asked, *others], exact)
            return replace(page, choices=inputs)
        found = quoting.quote(records, typed_crack(asked | {"price": exact, "cracks_on_job": cracks}))
    except LeakbackError as error:
        return Page(answer=words.sentence(str(error)), choices=inputs)
    page = card(found)
    sheet = papers.of_quote(lambda: sheet_of(found, papers.about(records)))
    return replace(page, choices=inputs, parts=(sheet, *page.parts))


def card(found: Quotes) -> Page:
    """The first quote of ``found`` as a page; of a crack that is not one to inject, why it has no price."""
    quote = found.quotes[0]
    if quote.flag.unpriced:
        return Page(
            answer=_answer(found, quote),
            parts=(*_first(found, quote), *reasons(quote.flag), *_last(found, quote)),
            worked_out=WORKED_OUT,
        )
    return Page(
        answer=_answer(found, quote),
        parts=(
            *_first(found, quote),
            _takes(found, quote),
            *reasons(quote.flag),
            Section(comparable_jobs.TITLE, (comparable_jobs.table(found, quote),)),
            *_last(found, quote),
        ),
        worked_out=WORKED_OUT,
    )


def sheet_of(found: Quotes, line: str) -> Document:
    """The first quote for paper, with what it is a quote of: half a page without the comparable jobs.

    Its money is a list over the whole width, to be added up by hand.
    """
    quote = found.quotes[0]
    about = (Words(quote_paper.FOR_SHOP, "strong"), Words(quote_paper.asked(quote, ORDER, found.currency), "muted"))
    takes = Section("What it takes", (Figures(quote_figures.work(found, quote)),), aside=drawing(_drawn(quote)))
    costs = tuple(Section(table.title, (table,)) for table in quote_figures.money_table(found, quote))
    worked_out = () if quote.flag.unpriced else (takes, *costs)
    parts = (*_first(found, quote), *about, *worked_out, *reasons(quote.flag), *_notes(found, quote))
    printed = Page(answer=_answer(found, quote), parts=(*parts, *quote_paper.cautions([quote])))
    return Document("Quote checked", (printed,), line, found.as_of, one_sheet=True)


def _takes(found: Quotes, quote: Quote) -> Section:
    figures = Figures((*quote_figures.work(found, quote), *quote_figures.money(found, quote)))
    return Section("What it takes and costs", (figures,), aside=drawing(_drawn(quote)))


def _last(found: Quotes, quote: Quote) -> tuple[Part, ...]:
    """What was assumed or is missing, and what the page must not be taken for."""
    return (*_notes(found, quote), *upcoming.cautions())


def _notes(found: Quotes, quote: Quote) -> tuple[Part, ...]:
    return tuple(Words(note, tone="muted") for note in (*quote.notes, *found.said))


def _answer(found: Quotes, quote: Quote) -> str:
    """The crack, what it takes and what it costs; what stops it stands before the price, anything less after it."""
    facts = quote.facts
    crack = f"{words.size(facts['length_m'], 'm')} of {words.size(facts['width_mm'], 'mm')} crack"
    if quote.flag.unpriced:
        return f"{crack}: no price. {words.sentence(quote.flag.unpriced)}"
    needs = ACTION_SAID[quote.flag.action]
    if quote.litres.expected is None and quote.minutes.expected is None:
        return f"{crack}: too little to tell what it takes; {needs}."
    litres = f"{_said(quote.litres, 2, 'L')} of resin" if quote.litres.expected is not None else ""
    minutes = f"{_said(quote.minutes, 0, 'min')} of labour" if quote.minutes.expected is not None else ""
    takes = " and ".join(part for part in (litres, minutes) if part)
    costs = [part for part in (takes, _money(found, quote)) if part]
    said = [needs, *costs] if quote.flag.needs in STOPS else [*costs, needs]
    return f"{crack}: {'; '.join(said)}.{_whole(quote)}"


def _money(found: Quotes, quote: Quote) -> str:
    """The price, and what the price meant leaves, in the sentence itself: on a phone the rest is beneath the fields."""
    price, place, cracks = quote.price, quote.place, quote.facts["cracks_on_job"]
    if price.floor is None:
        return ""
    of = f" for this crack of {cracks}" if cracks > 1 else ""
    meant = None if place is None else place.price
    return price_said(price.floor, price.target, meant, found.currency, of)


def _whole(quote: Quote) -> str:
    """Where the price of the whole job stands, where this is the price of one crack of several."""
    cracks = quote.facts["cracks_on_job"]
    if quote.price.floor is None or cracks == 1:
        return ""
    return f" {GIVE_OTHERS if cracks <= MOST_TYPED else WHOLE}"


def _said(span: Span, digits: int, unit: str) -> str:
    return words.estimate(span.expected, span.low, span.high, digits, unit)


def _first(found: Quotes, quote: Quote) -> tuple[Part, ...]:
    """What must be seen before any figure: that it stops, that nothing on record is like it, where the price stands."""
    stop = stops([replace(quote.flag, crack_id=THIS)])
    if quote.flag.unpriced:
        return stop
    unlike = (Words(quote.unlike.words, tone="strong"),) if quote.unlike else ()
    return (*stop, *unlike, *((Words(_place(found, quote.place), tone="strong"),) if quote.place else ()))


def _place(found: Quotes, place: PricePlace) -> str:
    price = words.number(place.price, 0, found.currency)
    margins = ""
    if place.margin is not None:
        bad = f", {words.percent(place.margin_bad_end, 0)} at the bad end" if place.margin_bad_end is not None else ""
        margins = f"at {price} a margin of {words.percent(place.margin, 0)} is left at the middle{bad}"
    if not place.of:
        alone = f"{margins}; no comparable job has a price" if margins else f"{price}: nothing to hold it to"
        return words.sentence(alone)
    among = (
        f"that is dearer than {place.under} of {words.counted(place.of, 'comparable crack')}, which come to "
        f"{words.interval(place.low, place.high, 0)}{words.THIN}{found.currency} at this length and today's wage, "
        f"{words.number(place.middle, 0)} in the middle"
    )
    return words.sentence(f"{margins}; {among}" if margins else f"{price}: {among}")


def _drawn(quote: Quote) -> dict[str, object]:
    return {**quote.facts, "port_spacing_mm": quote.take_off.spacing_mm}
