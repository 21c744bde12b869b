"""How like a business's header is to each of our columns, and which unit it names."""

import re
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache

from analytics.contract.tables import TABLES
from analytics.intake.header import NUMBERING
from analytics.intake.units import UNITS

# What a column may be called: plain words of the trade, common practice, no source.
CALLED: dict[str, str] = {
    "job_id": "job|job no|job number|job id|job ref|work order|work order no|work order number|wo|wo no|"
    "wo number|order no|order number|project|project no|ticket|ref",
    "site_id": "site|customer|client|address|property|house|location|owner|site address|customer name|account",
    "branch": "branch|office|region|depot|territory|location code|division",
    "crew_id": "crew|team|technician|tech|foreman|lead|installer|done by|worker|crew name|crew lead",
    "status": "status|state|stage|job status|outcome",
    "quoted_on": "quoted|quote date|date quoted|estimate date|estimated on|inspection date|date of quote|bid date",
    "planned_on": "planned|scheduled|schedule date|start date|booked for|planned date|appointment|date scheduled",
    "done_on": "done|done on|finished|completed|completion date|date done|date completed|work date|repair date|date|"
    "install date|end date|job date",
    "access": "access|basement|wall finish|finish|area",
    "price_quoted": "quote|quoted|price quoted|quoted price|estimate|bid|quote amount|estimated price|amount quoted",
    "price_charged": "price|charged|invoice|invoiced|total|amount|price charged|invoice amount|final price|billed|paid",
    "travel_minutes": "travel|travel time|drive|drive time|driving|mobilisation",
    "warranty_months": "warranty|warranty period|guarantee|warranty term|warranty length",
    "crack_id": "crack|crack no|crack number|crack id|crack ref|defect no",
    "length_m": "length|crack length|len|linear feet|linear ft|lin ft|lf|linear metres|run",
    "width_mm": "width|crack width|opening|gap|crack opening|max width|widest",
    "wall_thickness_mm": "wall|wall thickness|thickness|wall depth|thick|wall size|concrete thickness",
    "direction": "direction|orientation|crack direction|crack type|type of crack|type|pattern",
    "water": "water|moisture|wet|wetness|leak|leaking|water state|condition|moisture condition",
    "movement": "movement|moving|active|crack movement|activity",
    "offset_mm": "offset|displacement|out of plane|lip|step|shear|offset of faces",
    "resin": "resin|material|product|epoxy or foam|resin used|injected with|method",
    "wall_temp_c": "wall temp|temp|temperature|wall temperature|surface temp|concrete temp",
    "port_spacing_mm": "port spacing|spacing|port distance|ports every",
    "port_count": "ports|port count|no of ports|number of ports|ports used|port qty|packers",
    "resin_litres": "resin used|resin|litres|gallons|material used|cartridges|tubes|resin amount|quantity|volume|qty",
    "labour_minutes": "labour|labor|hours|time|man hours|labour time|labor hours|crew hours|time on site|minutes|hrs",
    "cleaned": "cleaned|surface cleaned|ground|wire brushed|prep|cleaned strip",
    "dried": "dried|surface dried|heat dried|torched",
    "water_tested": "water test|water tested|flushed|tested with water|water flush",
    "callback_id": "callback|callback no|call no|claim|claim no|complaint no|service call|call id|case",
    "reported_on": "reported|reported on|date reported|call date|called|called on|date called|claim date|date",
    "finding": "finding|found|cause|result|what was found|reason|diagnosis",
    "material_cost": "material cost|materials|cost of material|material",
    "effective_on": "effective|effective on|from|valid from|from date|since|date",
    "item": "item|what|cost item|rate item|name",
    "amount": "amount|rate|cost|price|unit cost|value",
    "currency": "currency|ccy|cur",
    "review_id": "review|review no|engineer review|report no|review id",
    "asked_on": "asked|asked on|sent|date asked|sent to engineer|requested|request date",
    "decided_on": "decided|decided on|date decided|answered|reply date|report date",
    "decision": "decision|engineer decision|verdict|recommendation|advice",
    "reference": "reference|letter|letter no|report|report ref|engineer ref",
}
SHEETS: dict[str, str] = {
    "jobs": "jobs|work orders|projects|visits|orders",
    "cracks": "cracks|repairs|crack list|injections",
    "callbacks": "callbacks|claims|complaints|service calls|warranty calls",
    "rates": "rates|costs|price list|cost rates",
    "reviews": "reviews|engineer|engineer reviews",
}
CONTAINED, NEAR, EACH_EXTRA = 0.92, 0.8, 0.06
BRACKETED = re.compile(r"[(\[](.*?)[)\]]")
WORD = re.compile(r"[^\W_]+|[\"'″′%°]+")
FEWEST_TOKENS = 2
LONG_UNIT = 3
# Words that speak of how much or how many, never of which one: common practice, no source.
MEASURES = (
    "length width depth height thickness size area gap opening count quantity qty total cost price amount rate hours "
    "minutes time cracks jobs date day days"
)
UNIT_TAILS = {"m", "mm", "c", "on", "minutes", "months", "litres"}


@dataclass(frozen=True)
class Heading:
    """A header taken apart: its words, and the unit it names, in a column map's words; empty where it names none.

    ``whole`` are the words with the unit that stands last: ``linear feet`` is a length's own name.
    """

    words: tuple[str, ...]
    unit: str = ""
    whole: tuple[str, ...] = ()

    @property
    def is_numbering(self) -> bool:
        """Whether it says which one it is; the number of something is how many there are."""
        return not NUMBERING.isdisjoint(self.words) and "of" not in self.words

    @property
    def is_measuring(self) -> bool:
        """Whether it speaks of how much or how many, so that it can be no code."""
        return bool(self.unit) or (not self.is_numbering and not set(MEASURES.split()).isdisjoint(self.words))

    @classmethod
    def of(cls, header: str) -> "Heading":
        """The header in words; a unit stands in brackets or last."""
        text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header)
        text = text.casefold().replace("#", " no ").replace("°", " °")
        bracketed = [" ".join(found.replace(".", "").split()) for found in BRACKETED.findall(text)]
        unit = next((found for found in bracketed if found in UNITS), "")
        whole = words = tuple(WORD.findall(BRACKETED.sub(" ", text).replace(".", " ")))
        for count in (2, 1):
            last = " ".join(words[-count:]).replace("° ", "°")
            if not unit and len(words) >= count + 1 and last in UNITS:
                unit, words = last, words[:-count]
        spelled = next((word for word in words if word in UNITS and len(word) > LONG_UNIT), "")
        return cls(words, unit or spelled, whole)


@cache
def likeness(heading: Heading, column: str) -> float:
    """From 0 to 1: how like a header is to what the column may be called."""
    own = tuple(column.split("_"))
    bare = [own[:-1]] if own[-1] in UNIT_TAILS else []
    phrases = [tuple(phrase.split()) for phrase in CALLED.get(column, "").split("|")]
    called = (own, *bare, *phrases)
    return max(1.0 if heading.whole in called else 0.0, *(_alike(heading.words, phrase) for phrase in called))


def _alike(words: tuple[str, ...], phrase: tuple[str, ...]) -> float:
    if words == phrase:
        return 1.0
    if phrase and set(phrase) <= set(words):
        short = EACH_EXTRA if len(phrase) < FEWEST_TOKENS else 0.0
        return max(0.5, CONTAINED - EACH_EXTRA * (len(words) - len(phrase)) - short)
    ratio = SequenceMatcher(None, " ".join(words), " ".join(phrase)).ratio()
    return ratio * NEAR / 0.9 if ratio >= NEAR else 0.0


def sheet_likeness(names: tuple[str, ...], table: str) -> float:
    """From 0 to 1: how like a sheet's or a file's name is to what the table may be called."""
    said = [tuple(phrase.split()) for phrase in SHEETS[table].split("|")]
    return max(_alike(Heading.of(name).words, phrase) for name in names for phrase in said)


def columns_of(table: str) -> list[str]:
    """The table's columns, in the contract's order."""
    return list(TABLES[table].column_names())
