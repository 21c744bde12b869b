"""The five tables a business brings, each declared once.

Validation, the store's tables, blank templates, the data dictionary and tooltips all derive from
these declarations. Units are SI.
"""

import dataframely as dy
import polars as pl

from analytics.contract import columns as c

RESINS = ("epoxy", "urethane_foam")
STATUSES = ("quoted", "lost", "planned", "done", "cancelled")
ACCESSES = ("open", "finished", "tight")
DIRECTIONS = ("vertical", "diagonal", "horizontal", "stepped")
WATERS = ("dry", "damp", "seeping", "running")
MOVEMENTS = ("still", "seasonal", "growing")
FINDINGS = ("leak_back", "new_crack", "condensation", "surface_only", "other")
DECISIONS = ("inject", "repair_otherwise", "monitor", "do_nothing")
LONGEST_WARRANTY_MONTHS = 1200
RATE_UNITS = {"labour_hour": "h", "travel_hour": "h", "epoxy_litre": "L", "urethane_foam_litre": "L", "seal_kg": "kg"}
"""The unit of which an item's rate is the price of one, where it is one that others measure in other units."""
RATE_ITEMS = ("labour_hour", "travel_hour", "epoxy_litre", "urethane_foam_litre", "port_each", "seal_kg")


class Jobs(dy.Schema):
    """A visit-worth of work sold to one site."""

    job_id = c.key("The business's own number for the job.")
    site_id = c.name("The site; replaced by a keyed code at the door.")
    branch = c.name("The branch that sold the job.")
    crew_id = c.name("The crew that does the job; a personal name is replaced by a code at the door.")
    status = c.choice("Where the job stands.", *STATUSES, nullable=False)
    quoted_on = c.day("Day of the quote.")
    planned_on = c.day("Day the work is planned for; must be there when the job is planned.")
    done_on = c.day("Day the work was finished; must be there when the job is done.")
    access = c.choice(
        "How the wall is reached: open, finished (behind a finish), tight (crawl space, stairwell).",
        *ACCESSES,
        known="handed",
    )
    price_quoted = c.money("Price quoted for the whole job.")
    price_charged = c.money("Price charged for the whole job.")
    travel_minutes = c.number("Travel to and from the site.", "min", least=0, most=2880)
    warranty_months = c.whole(
        "Months of warranty.", "months", most=LONGEST_WARRANTY_MONTHS, blank="as long as the owner holds the house"
    )

    @dy.rule()
    def crew_id_when_done(cls) -> pl.Expr:
        """A done job needs the crew that did it."""
        return (pl.col("status") != "done") | pl.col("crew_id").is_not_null()

    @dy.rule()
    def done_on_when_done(cls) -> pl.Expr:
        """A done job needs the day it was done."""
        return (pl.col("status") != "done") | pl.col("done_on").is_not_null()

    @dy.rule()
    def planned_on_when_planned(cls) -> pl.Expr:
        """A planned job needs the day it is planned for."""
        return (pl.col("status") != "planned") | pl.col("planned_on").is_not_null()


class Cracks(dy.Schema):
    """A crack, repaired or to be repaired."""

    crack_id = c.key("The business's own number for the crack.")
    job_id = c.code("The job the crack belongs to.")
    length_m = c.number("Length along the crack.", "m", known="handed", above=0, most=50)
    width_mm = c.number("Width at the widest point.", "mm", known="handed", above=0, most=100)
    wall_thickness_mm = c.number("Thickness of the wall.", "mm", known="handed", least=75, most=1500)
    direction = c.choice("Direction of the crack on the wall.", *DIRECTIONS, known="handed")
    water = c.choice("Water at the crack at the time of the work, or of the inspection.", *WATERS, known="handed")
    movement = c.choice("Whether the crack moves.", *MOVEMENTS, known="handed", blank="not known")
    offset_mm = c.number("How far one face is out of plane with the other.", "mm", known="handed", least=0, most=300)
    resin = c.choice("Resin used or planned.", *RESINS, known="chosen")
    wall_temp_c = c.number("Temperature of the wall's surface.", "°C", known="handed", least=-30, most=60)
    port_spacing_mm = c.number("Distance from port to port.", "mm", known="chosen", least=25, most=1000)
    port_count = c.whole("Ports glued on.", "ports", known="done", most=2000)
    resin_litres = c.number("Resin used.", "L", known="done", least=0, most=1000)
    labour_minutes = c.number("Person-minutes spent on this crack.", "person-min", known="done", least=0, most=20000)
    cleaned = c.step("The strip each side was cleaned before the ports went on.")
    dried = c.step("The crack's surface was dried before the ports and the seal went on.")
    water_tested = c.step("Water was put through the top port before the resin.")


class Callbacks(dy.Schema):
    """A customer's call about finished work."""

    callback_id = c.key("The business's own number for the call.")
    job_id = c.code("The done job the call is about.")
    crack_id = c.code("The crack of that job.", nullable=True, blank="not known which")
    reported_on = c.day("Day the customer called.", nullable=False)
    finding = c.choice("What was found.", *FINDINGS, blank="not looked at yet")
    labour_minutes = c.number("Person-minutes spent putting it right.", "person-min", least=0, most=20000)
    material_cost = c.money("Material used to put it right.")


class Rates(dy.Schema):
    """What one unit of an item costs from a day on."""

    effective_on = dy.Date(
        primary_key=True, description="First day the rate holds.", metadata={"unit": "ISO 8601 date"}
    )
    item = dy.Enum(RATE_ITEMS, primary_key=True, description="What is priced.")
    amount = c.money(
        "Cost of one unit; through a column map or by hand also as 95 per gal, or 4 per lb.",
        scale=c.RATE_SCALE,
        nullable=False,
        per=tuple(dict.fromkeys(RATE_UNITS.values())),
    )
    currency = dy.String(
        regex=r"^[A-Z]{3}$", description="Three-letter currency code (ISO 4217).", metadata={"unit": "ISO 4217"}
    )


class Reviews(dy.Schema):
    """An engineer's decision on a crack; rows are only ever added."""

    review_id = c.key("The business's own number for the review.")
    crack_id = c.code("The crack looked at.")
    asked_on = c.day("Day the engineer was asked.")
    decided_on = c.day("Day of the decision.", blank="not decided yet")
    decision = c.choice("What the engineer decided.", *DECISIONS, blank="not decided yet")
    reference = c.code("Number of the engineer's letter or report; a number, not a name.", nullable=True)

    @dy.rule()
    def decision_with_decided_on(cls) -> pl.Expr:
        """A decision needs its day, and the day its decision: give both or neither."""
        return pl.col("decision").is_null() == pl.col("decided_on").is_null()


TABLES: dict[str, type[dy.Schema]] = {
    "jobs": Jobs,
    "cracks": Cracks,
    "callbacks": Callbacks,
    "rates": Rates,
    "reviews": Reviews,
}
