"""Every page of the dashboard, in the order of the navigation."""

from collections.abc import Callable, Mapping

from analytics.answers.records import Records
from analytics.pages import crews, holdings, leak_backs, today, trust, upcoming
from analytics.pages.page import Page, Said

Build = Callable[[Records, Said], Page]

PAGES: Mapping[str, tuple[str, Build]] = {
    "today": ("Today", today.build),
    upcoming.PATH: ("Upcoming jobs", upcoming.build),
    "leak-backs": ("Leak-backs", leak_backs.build),
    "crews": ("Crews", crews.build),
    "records": ("Records", holdings.build),
    "trust": ("How far to trust this", trust.build),
}
"""By path in the address: the name in the navigation, and what builds the page."""
