"""Random tables with faults put into known cells, and what must become of every row. Invented, seeded."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

Row = dict[str, Any]
FIRST_DAY = date(2018, 1, 1)
DIRECTIONS, WATERS = ("vertical", "diagonal", "horizontal", "stepped"), ("dry", "damp", "seeping", "running")
Spoil = Callable[[Random, Row], tuple[str, str]]
"""Gives the column that is spoilt and the text that stands in it."""


@dataclass
class Invented:
    """Rows of jobs and cracks as they should be kept, how each cell is written, and the rows that must be rejected.

    ``texts`` are the rows as they stand in the files, in order; ``spoilt`` the cells that must be named: row, column.
    """

    jobs: list[Row]
    cracks: list[Row]
    texts: dict[str, list[dict[str, str]]] = field(default_factory=dict)
    spoilt: dict[str, set[tuple[int, str]]] = field(default_factory=lambda: {"jobs": set(), "cracks": set()})
    repeated: dict[str, int] = field(default_factory=lambda: {"jobs": 0, "cracks": 0})


def job(random: Random, number: int) -> Row:
    done = FIRST_DAY + timedelta(days=random.randrange(2500))
    return {
        "job_id": f"J-{number}",
        "crew_id": f"C{random.randrange(5)}",
        "status": "done",
        "done_on": done,
        "price_charged": Decimal(random.randrange(10000, 400000)) / 100,
        "travel_minutes": random.choice([None, random.randrange(1000) / 10]),
        "warranty_months": random.choice([None, 12, 24, 60]),
    }


def crack(random: Random, number: int, job_id: str) -> Row:
    return {
        "crack_id": f"K-{number}",
        "job_id": job_id,
        "length_m": random.randrange(10, 900) / 100,
        "width_mm": random.randrange(5, 500) / 100,
        "direction": random.choice([None, *DIRECTIONS]),
        "water": random.choice([None, *WATERS]),
        "port_count": random.choice([None, random.randrange(3, 40)]),
        "cleaned": random.choice([None, True, False]),
    }


def _written(value: object, comma: bool) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | Decimal):
        return str(value).replace(".", ",") if comma else str(value)
    return str(value)


def _number(random: Random, row: Row) -> tuple[str, str]:
    column = random.choice(
        [name for name in ("length_m", "width_mm", "travel_minutes", "price_charged") if name in row]
    )
    return column, random.choice(["abc", "1/8", "NaN", "inf", "2 m", "-1", "1e999", "1e13", "12 34 x", "=1+1", "#REF!"])


def _day(random: Random, row: Row) -> tuple[str, str]:
    del row
    return "done_on", random.choice(["2023-02-29", "31/12/2023", "today", "2099-01-01", "1900-01-01", "20230101", ""])


def _word(random: Random, row: Row) -> tuple[str, str]:
    return ("status" if "status" in row else "water"), random.choice(
        ["doone", "wet", "?", "done,lost", "Robin Example"]
    )


def _key(random: Random, row: Row) -> tuple[str, str]:
    return ("job_id" if "status" in row else "crack_id"), random.choice(["", "the cellar stairs", "K 1", "=K-1", "é-1"])


def _whole(random: Random, row: Row) -> tuple[str, str]:
    return ("warranty_months" if "status" in row else "port_count"), random.choice(["3.5", "-1", "five", "1e9"])


def _step(random: Random, row: Row) -> tuple[str, str]:
    return ("crew_id", "") if "status" in row else ("cleaned", random.choice(["perhaps", "2", "ja"]))


FAULTS: dict[str, tuple[Spoil, ...]] = {
    "jobs": (_number, _day, _word, _key, _whole, _step),
    "cracks": (_number, _word, _key, _whole, _step),
}


def invent(random: Random, comma: bool) -> Invented:
    """Up to twelve jobs and twenty cracks, a third of the rows spoilt or told twice."""
    jobs = [job(random, number) for number in range(1, random.randrange(2, 13))]
    cracks = [crack(random, n, random.choice(jobs)["job_id"]) for n in range(1, random.randrange(2, 21))]
    made = Invented([], [])
    lost = _tell(made, "jobs", jobs, random, comma=comma, lost=set())
    _tell(made, "cracks", cracks, random, comma=comma, lost=lost)
    return made


def _tell(made: Invented, table: str, rows: list[Row], random: Random, *, comma: bool, lost: set[str]) -> set[str]:
    """Write the rows, some of them spoilt; the keys of those that must not be kept."""
    texts: list[dict[str, str]] = []
    kept = made.jobs if table == "jobs" else made.cracks
    key = next(iter(rows[0]))
    gone = set()
    for row in rows:
        text = {name: _written(value, comma) for name, value in row.items()}
        number, fate = len(texts) + 2, random.random()
        texts.append(text)
        if table == "cracks" and row["job_id"] in lost:
            made.spoilt[table].add((number, "job_id"))
        if fate < 0.25:
            column, cell = random.choice(FAULTS[table])(random, row)
            text[column] = cell
            made.spoilt[table].add((number, column))
        elif fate < 0.3:
            texts.append(dict(text))
            made.repeated[table] += 1
        elif fate < 0.35:
            other = dict(text) | {"job_id" if table == "cracks" else "crew_id": "C77"}
            texts.append(other)
            made.spoilt[table] |= {(number, key), (number + 1, key)}
        if any(at == number for at, _ in made.spoilt[table]):
            gone.add(str(row[key]))
        else:
            kept.append(row)
    made.texts[table] = texts
    return gone
