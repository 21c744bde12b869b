"""Every page of the dashboard, in the order of the navigation."""

from collections.abc import Callable, Mapping

from analytics.answers.records import Records
from analytics.pages import (
    bring,
    crews,
    holdings,
    leak_backs,
    policy,
    prices,
    quality,
    quote,
    record,
    reserve,
    take_ratio,
    today,
    trust,
    upcoming,
)
from analytics.pages.page import Page, Said

Build = Callable[[Records, Said], Page]

PAGES: Mapping[str, tuple[str, Build]] = {
    "today": ("Today", today.build),
    upcoming.PATH: ("Upcoming jobs", upcoming.build),
    quote.PATH: (quote.TITLE, quote.build),
    "leak-backs": ("Leak-backs", leak_backs.build),
    crews.PATH: ("Crews", crews.build),
    prices.PATH: (prices.TITLE, prices.build),
    reserve.PATH: (reserve.TITLE, reserve.build),
    take_ratio.PATH: (take_ratio.TITLE, take_ratio.build),
    record.PATH: (record.TITLE, record.build),
    bring.PATH: (bring.TITLE, bring.build),
    "records": ("Records", holdings.build),
    quality.PATH: (quality.TITLE, quality.build),
    "trust": ("Trust", trust.build),
    policy.PATH: (policy.TITLE, policy.build),
}
"""By path in the address: the name in the navigation, and what builds the page."""
