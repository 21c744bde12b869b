"""One invented history, and six ways a business might write it down: dialects, units, words and shapes."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import polars as pl

from tests.intake.brought import Book, csv_bytes, parquet_bytes

Row = dict[str, Any]
History = dict[str, list[Row]]
Write = dict[str, Callable[[Any], Any]]
INCH_M, GALLON_L = Decimal("0.0254"), Decimal("3.785411784")
STATUS_DE = {"done": "fertig", "planned": "geplant", "lost": "verloren"}
RESIN_DE = {"epoxy": "Epoxidharz", "urethane_foam": "PU-Schaum"}


def history(jobs: int = 90) -> History:
    """Jobs, cracks and callbacks. Lengths are whole quarters of an inch, widths sixteenths, litres thousandths."""
    random = Random(3)  # noqa: S311 - a seed for tests
    told: History = {"jobs": [], "cracks": [], "callbacks": []}
    for number in range(1, jobs + 1):
        done = date(2020, 1, 6) + timedelta(days=17 * number)
        status = "planned" if number > jobs - 6 else "lost" if number % 11 == 0 else "done"
        job: Row = {"job_id": f"A-{number:03d}", "site_id": f"S-{number % 40}", "crew_id": f"C{number % 4}"}
        job |= {"status": status, "quoted_on": done - timedelta(days=9), "done_on": done if status == "done" else None}
        job |= {
            "planned_on": done if status == "planned" else None,
            "price_quoted": Decimal(random.randrange(300, 2000)),
        }
        told["jobs"].append(job | {"travel_minutes": 15 * random.randrange(1, 9), "warranty_months": 60})
        for which in range(1, random.randrange(2, 4)):
            crack = _crack(random, f"A-{number:03d}", which, done=status == "done")
            told["cracks"].append(crack)
            if status == "done" and random.random() < 0.12:
                call: Row = {"callback_id": f"B-{len(told['callbacks']) + 1}", "job_id": job["job_id"]}
                call |= {"crack_id": crack["crack_id"], "reported_on": done + timedelta(days=random.randrange(20, 500))}
                told["callbacks"].append(call | {"finding": random.choice(["leak_back", "condensation"])})
    return told


def _crack(random: Random, job_id: str, which: int, *, done: bool) -> Row:
    quarters, sixteenths = random.randrange(60, 500), random.randrange(1, 6)
    row: Row = {"crack_id": f"{job_id}-{which}", "job_id": job_id, "length_m": float(INCH_M * quarters / 4)}
    row |= {"width_mm": float(Decimal("25.4") * sixteenths / 16), "wall_thickness_mm": random.choice([203.2, 254.0])}
    row |= {"direction": random.choice(["vertical", "diagonal"]), "water": random.choice(["dry", "damp", "seeping"])}
    row |= {"resin": random.choice(["epoxy", "urethane_foam"]), "wall_temp_c": float(5 * random.randrange(1, 5))}
    row |= {"resin_litres": random.randrange(100, 2500) / 1000 if done else None}
    return row | {
        "labour_minutes": float(15 * random.randrange(2, 20)) if done else None,
        "cleaned": True if done else None,
    }


def _rows(table: list[Row], write: Mapping[str, Callable[[Any], Any]], head: Mapping[str, str]) -> list[list[Any]]:
    """Rows under their headers, each value as ``write`` writes it."""
    lines = [[write.get(name, _plain)(row[name]) if row[name] is not None else None for name in head] for row in table]
    return [list(head.values()), *lines]


def _plain(value: Any) -> Any:
    return "yes" if value is True else value


def _same(table: list[Row]) -> dict[str, str]:
    return {name: name for name in table[0]}


def our_own(told: History) -> tuple[dict[str, bytes], str]:
    """CSV with commas, in our units and words."""
    return {f"{name}.csv": csv_bytes(_rows(table, {}, _same(table))) for name, table in told.items()}, ""


def continental(told: History) -> tuple[dict[str, bytes], str]:
    """Semicolons, decimal commas, DD.MM.YYYY, Windows-1252, words of another language."""

    def comma(value: Any) -> str:
        return f"{value:f}".replace(".", ",") if isinstance(value, Decimal) else repr(value).replace(".", ",")

    def day(value: date) -> str:
        return f"{value:%d.%m.%Y}"

    numbers = ("length_m", "width_mm", "wall_thickness_mm", "wall_temp_c", "resin_litres", "labour_minutes")
    write: Write = dict.fromkeys((*numbers, "price_quoted"), comma)
    write |= dict.fromkeys(("quoted_on", "planned_on", "done_on", "reported_on"), day)
    write |= {"status": STATUS_DE.__getitem__, "resin": RESIN_DE.__getitem__}
    files = {f"{name}.csv": csv_bytes(_rows(table, write, _same(table)), ";", "cp1252") for name, table in told.items()}
    lines = ["version = 1", "decimal_comma = true", 'date_format = "DD.MM.YYYY"']
    for name, table in told.items():
        lines += [f"[{name}.columns]", *(_line(name, column) for column in table[0])]
    return files, "\n".join(lines)


def _line(table: str, column: str) -> str:
    words = {("jobs", "status"): STATUS_DE, ("cracks", "resin"): RESIN_DE}.get((table, column))
    if not words:
        return f'{column} = "{column}"'
    said = ", ".join(f'"{theirs}" = "{ours}"' for ours, theirs in words.items())
    return f'{column} = {{ header = "{column}", words = {{ {said} }} }}'


def _inches(value: float, per: Decimal, parts: int) -> Fraction:
    return Fraction(round(Decimal(repr(value)) / per * parts), parts)


def _mixed(inches: Fraction) -> str:
    whole, part = divmod(inches, 1)
    return " ".join(([str(whole)] if whole or not part else []) + ([str(part)] if part else [])) + '"'


def _feet(value: float) -> str:
    feet, inches = divmod(_inches(value, INCH_M, 4), 12)
    return f"{feet}' {_mixed(inches)}"


CUSTOMARY = """
version = 1
decimal_comma = false
date_format = "MM/DD/YYYY"
[jobs.columns]
job_id = "Job"
site_id = "Customer"
crew_id = "Crew"
status = "Status"
quoted_on = "Quoted"
done_on = "Done"
planned_on = "Planned"
price_quoted = "Quote"
travel_minutes = { header = "Travel", unit = "hours" }
warranty_months = { header = "Warranty", unit = "years" }
[cracks.columns]
crack_id = "Crack"
job_id = "Job"
length_m = { header = "Length", unit = "in" }
width_mm = { header = "Width", unit = "in" }
wall_thickness_mm = { header = "Wall", unit = "in" }
direction = "Direction"
water = "Water"
resin = "Resin"
wall_temp_c = { header = "Temp", unit = "°F" }
resin_litres = { header = "Gallons", unit = "gal" }
labour_minutes = { header = "Hours", unit = "hours" }
cleaned = "Cleaned"
[callbacks.columns]
callback_id = "Call"
job_id = "Job"
crack_id = "Crack"
reported_on = "Reported"
finding = "Found"
"""
HEADS = {
    "jobs": {"job_id": "Job", "site_id": "Customer", "crew_id": "Crew", "status": "Status", "quoted_on": "Quoted",
             "done_on": "Done", "planned_on": "Planned", "price_quoted": "Quote", "travel_minutes": "Travel",
             "warranty_months": "Warranty"},
    "cracks": {"crack_id": "Crack", "job_id": "Job", "length_m": "Length", "width_mm": "Width",
               "wall_thickness_mm": "Wall", "direction": "Direction", "water": "Water", "resin": "Resin",
               "wall_temp_c": "Temp", "resin_litres": "Gallons", "labour_minutes": "Hours", "cleaned": "Cleaned"},
    "callbacks": {"callback_id": "Call", "job_id": "Job", "crack_id": "Crack", "reported_on": "Reported",
                  "finding": "Found"},
}  # fmt: skip


def customary(told: History) -> tuple[dict[str, bytes], str]:
    """Tabs and UTF-16; feet, inches and fractions, gallons, hours by the clock, °F, MM/DD/YYYY."""

    def clock(minutes: float) -> str:
        return f"{int(minutes) // 60}:{int(minutes) % 60:02d}"

    def day(value: date) -> str:
        return f"{value.month}/{value.day}/{value.year}"

    write: Write = {
        "length_m": _feet,
        "width_mm": lambda value: _mixed(_inches(value, Decimal("25.4"), 16)),
        "wall_thickness_mm": lambda value: _mixed(_inches(value, Decimal("25.4"), 1)),
        "wall_temp_c": lambda value: value * 9 / 5 + 32,
        "resin_litres": lambda value: repr(float(Decimal(repr(value)) / GALLON_L)),
        "labour_minutes": clock,
        "travel_minutes": clock,
        "warranty_months": lambda value: value // 12,
        "price_quoted": lambda value: f"${value:,.2f}",
        **dict.fromkeys(("quoted_on", "planned_on", "done_on", "reported_on"), day),
    }
    files = {f"{name}.tsv": csv_bytes(_rows(table, write, HEADS[name]), "\t", "utf-16") for name, table in told.items()}
    return files, CUSTOMARY


def spreadsheet(told: History) -> tuple[dict[str, bytes], str]:
    """A workbook with titles, real days, decimal feet and inches, fluid ounces, decimal hours."""
    write: Write = {
        "length_m": lambda value: float(Decimal(repr(value)) / Decimal("0.3048")),
        "width_mm": lambda value: float(Decimal(repr(value)) / Decimal("25.4")),
        "wall_thickness_mm": lambda value: value / 10,
        "resin_litres": lambda value: float(Decimal(repr(value)) / (GALLON_L / 128)),
        "labour_minutes": lambda value: value / 60,
        "travel_minutes": lambda value: value / 60,
        "price_quoted": float,
        "wall_temp_c": lambda value: value * 9 / 5 + 32,
        "warranty_months": lambda value: value / 12,
    }
    book = Book()
    for name, table in told.items():
        book.sheet(f"{name} list", _rows(table, write, HEADS[name]), first_row=3, first_column=1)
    said = CUSTOMARY.replace('date_format = "MM/DD/YYYY"\n', "").replace(
        '"Length", unit = "in"', '"Length", unit = "ft"'
    )
    said = said.replace('"Wall", unit = "in"', '"Wall", unit = "cm"').replace('unit = "gal"', 'unit = "fl oz"')
    for name in told:
        said = said.replace(f"[{name}.columns]", f'[{name}]\nfrom = "{name} list"\n[{name}.columns]')
    return {"history.xlsx": book.bytes()}, said


def columnar(told: History) -> tuple[dict[str, bytes], str]:
    """Parquet files with types of their own; centimetres and millilitres."""
    files = {}
    for name, table in told.items():
        frame = pl.DataFrame(table, infer_schema_length=None)
        if name == "cracks":
            frame = frame.with_columns(pl.col("length_m") * 100, pl.col("resin_litres") * 1000)
        files[f"{name}.parquet"] = parquet_bytes(frame)
    lines = ["version = 1"]
    units = {"length_m": "cm", "resin_litres": "ml"}
    for name, table in told.items():
        lines.append(f"[{name}.columns]")
        for column in table[0]:
            unit = f', unit = "{units[column]}"' if column in units else ""
            lines.append(f'{column} = {{ header = "{column}"{unit} }}')
    return files, "\n".join(lines)


def wide(told: History) -> tuple[dict[str, bytes], str]:
    """One sheet of jobs with their cracks, cartridges of 300 ml, and the calls in another file."""
    jobs = {row["job_id"]: row for row in told["jobs"]}
    columns = [*told["jobs"][0], *(name for name in told["cracks"][0] if name != "job_id")]
    rows = [[_cartridges(name, (crack | jobs[crack["job_id"]])[name]) for name in columns] for crack in told["cracks"]]
    lines = ["version = 1", "[jobs]", 'from = "everything"', "[jobs.columns]"]
    lines += [f'{name} = "{name}"' for name in told["jobs"][0]]
    lines += ["[cracks]", 'from = "everything"', "[cracks.columns]"]
    for name in told["cracks"][0]:
        cartridge = name == "resin_litres"
        origin = f'{{ header = "{name}", unit = "cartridge of 300 ml" }}' if cartridge else f'"{name}"'
        lines.append(f"{name} = {origin}")
    calls = csv_bytes(_rows(told["callbacks"], {}, _same(told["callbacks"])))
    return {"everything.csv": csv_bytes([columns, *rows]), "callbacks.csv": calls}, "\n".join(lines)


def _cartridges(name: str, value: Any) -> Any:
    if name == "resin_litres" and value is not None:
        return repr(float(Decimal(repr(value)) / Decimal("0.3")))
    return _plain(value)


SIX = (our_own, continental, customary, spreadsheet, columnar, wide)
