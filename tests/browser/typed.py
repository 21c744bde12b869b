"""What is typed into each form that changes the store before its button is pressed."""

from collections.abc import Callable, Mapping

from playwright.sync_api import Locator, Page

from tests.browser.conftest import choose

Filling = Callable[[Page, Locator], None]
Place = tuple[str, bool]
"""A button's words, and whether it is about one job."""
TAKE_OUT, FILL, LOAD = "Take the invented business out", "Fill it with an invented business", "Load these rows"
LOAD_BACK = "Take this load back"
"""Never pressed on the usual records: they are one load, and the other buttons would have nothing left."""


def text(label: str, value: str) -> Filling:
    return lambda _, form: form.get_by_role("textbox", name=label, exact=True).fill(value)


def decided(page: Page, form: Locator) -> None:
    choose(page, form.get_by_role("combobox", name="Decision"), "inject")


def planned_for(page: Page, form: Locator) -> None:
    form.get_by_role("spinbutton", name="year, Planned for").click()
    page.keyboard.type("20271215")
    page.keyboard.press("Tab")


def new_job(page: Page, form: Locator) -> None:
    text("Site", "17 Invented Lane")(page, form)
    text("Length, m", "2.4")(page, form)
    planned_for(page, form)


def scenario(page: Page, form: Locator) -> None:
    text("Name of the scenario", "dearer labour")(page, form)
    text("An hour of labour, USD", "90")(page, form)


def southern(page: Page, form: Locator) -> None:
    choose(page, form.get_by_role("combobox", name="Side of the equator"), "south of the equator")


def nothing(_: Page, __: Locator) -> None:
    """As it stands is enough."""


TYPED: Mapping[Place, Filling] = {
    ("Close this job", True): text("Price charged, USD", "450"),
    ("Change this job", True): text("Travel, minutes", "17"),
    ("Add this crack", True): text("Length, m", "2.4"),
    ("Change this crack", True): text("Length, m", "2.1"),
    ("Record that an engineer was asked", True): nothing,
    ("Record the engineer's decision", True): decided,
    ("Record this call", True): nothing,
    ("Record what was found", True): text("Labour, person-minutes", "15"),
    ("Plan this job", True): planned_for,
    ("Plan this job", False): new_job,
    ("Save this scenario", False): scenario,
    ("Remove this scenario", False): nothing,
    ("Set this rate", False): text("Amount, USD", "47.25"),
    ("Set units and seasons", False): southern,
    ("Set what prices are made to", False): text("Margin, % of the price", "35"),
    ("Set extra prep", False): text("Time of extra prep on one crack, person-minutes", "30"),
    ("Set these thresholds", False): text("Width for an engineer, mm", "6"),
    ("Set what stands on papers", False): text("Name of the business", "Made-up Walls"),
    ("Set how records are kept", False): text("Automatic backups kept", "7"),
    ("Take this entry back", False): nothing,
    (LOAD_BACK, False): nothing,
    ("Take this row off the list", False): nothing,
    (LOAD, False): nothing,
    (TAKE_OUT, False): nothing,
    (FILL, False): nothing,
}
"""By button: what is typed before it is pressed, whoever presses it."""
