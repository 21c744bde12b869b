"""The planned jobs of the invented business: one case of each thing that can ask for a second look, and standard work.

The cases are laid out by hand, so that whoever opens the demo meets each of them once or a few times.
"""

from dataclasses import dataclass
from typing import Any

import polars as pl

from analytics.demo.truth import COLD_WALL_C

Values = dict[str, Any]

STANDARD_WIDTH_MM = (0.2, 2.5)


@dataclass(frozen=True)
class Case:
    """A planned job: what is measured on each of its cracks, over and above a standard crack.

    ``site_leak_backs`` asks for a site with so many earlier leak-backs. ``decision`` is the engineer's on the
    first crack: a word of the contract, ``asked`` for one not decided yet, None where nobody asked.
    """

    about: str
    cracks: tuple[Values, ...] = ({},)
    site_leak_backs: int = 0
    decision: str | None = None


def _one(about: str, decision: str | None = None, **values: Any) -> Case:  # noqa: ANN401 - a cell of any type
    return Case(about, (values,), decision=decision)


def _beside(about: str, **values: Any) -> Case:  # noqa: ANN401 - a cell of any type
    """A crack to look at beside a standard one."""
    return Case(about, (values, {}))


_ENGINEER = (
    _one("horizontal", "asked", direction="horizontal", width_mm=2.0),
    _one("stepped", "repair_otherwise", direction="stepped"),
    _one("out of plane", offset_mm=4.0),
    _one("wide", "inject", width_mm=6.0),
    Case("several wide ones", ({"width_mm": 3.0}, {"width_mm": 3.4}, {"width_mm": 4.2})),
    _one("growing", movement="growing"),
    Case("two leak-backs at the site", site_leak_backs=2),
)
_MEASURE_FIRST = (
    _one("direction not measured", direction=None),
    _beside("width not measured", width_mm=None),
    _one("offset not measured", offset_mm=None),
    _beside("offset not measured", offset_mm=None),
    _one("nothing measured", direction=None, width_mm=None, offset_mm=None, wall_temp_c=None),
)
_PREPARE = (
    _one("too narrow to inject", width_mm=0.03),
    _beside("hard to fill", width_mm=0.1),
    _one("hard to fill", width_mm=0.12),
    _one("wide, runs out at the back", width_mm=3.5, resin="epoxy", water="dry"),
    _beside("wide, runs out at the back", width_mm=4.5),
    _one("epoxy on damp", resin="epoxy", water="damp"),
    _beside("epoxy on damp", resin="epoxy", water="damp"),
    _one("epoxy on seeping", resin="epoxy", water="seeping"),
    _beside("epoxy on seeping", resin="epoxy", water="seeping"),
    _one("epoxy on damp", resin="epoxy", water="damp"),
    _one("epoxy on running", resin="epoxy", water="running"),
    _one("cold wall", wall_temp_c=9.0),
    _beside("cold wall", wall_temp_c=8.0, resin="epoxy", water="dry"),
    _one("cold wall", wall_temp_c=7.0, resin="urethane_foam"),
    _one("cold wall, the coldest class", wall_temp_c=3.0, resin="epoxy", water="dry"),
    _beside("ports too far apart", port_spacing_mm=300.0, wall_thickness_mm=200.0),
    _one("ports too far apart", port_spacing_mm=250.0, wall_thickness_mm=200.0),
    _beside("ports too far apart", port_spacing_mm=300.0, wall_thickness_mm=250.0),
    _one("ports too far apart", port_spacing_mm=350.0, wall_thickness_mm=300.0),
    _one("seasonal, with epoxy", movement="seasonal", resin="epoxy", water="dry"),
    _beside("seasonal, with epoxy", movement="seasonal", resin="epoxy", water="dry"),
    _one("seasonal, with epoxy, cold", movement="seasonal", resin="epoxy", water="dry", wall_temp_c=8.0),
    Case("one leak-back at the site", site_leak_backs=1),
    Case("one leak-back at the site", site_leak_backs=1),
    _one("a little out of plane", offset_mm=1.5),
    _beside("a little out of plane", offset_mm=2.5),
)
_STANDARD = tuple(Case("standard", ({},) * cracks) for cracks in (1, 2, 2, 3, 2) * 4 + (1, 2))
CASES = _ENGINEER + _MEASURE_FIRST + _PREPARE + _STANDARD


def lay_out(cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with those of planned jobs (``case_no`` from 0) turned into what their case says."""
    rows = [
        row | _standard(row) | CASES[row["case_no"]].cracks[row["crack_no"] - 1]
        for row in cracks.filter(pl.col("case_no") >= 0).to_dicts()
    ]
    others = cracks.filter(pl.col("case_no") < 0)
    return pl.concat([others, pl.DataFrame(rows, schema=cracks.schema)]).sort("place", "crack_no")


def _standard(row: Values) -> Values:
    """What keeps a drawn crack from asking for a second look."""
    narrowest, widest = STANDARD_WIDTH_MM
    return {
        "width_mm": min(max(row["width_mm"], narrowest), widest),
        "direction": "diagonal" if row["direction"] == "diagonal" else "vertical",
        "offset_mm": 0.0,
        "movement": "still" if row["movement"] else None,
        "resin": row["resin"] if row["water"] == "dry" else "urethane_foam",
        "wall_temp_c": max(row["wall_temp_c"], float(COLD_WALL_C)),
        "port_spacing_mm": min(row["port_spacing_mm"], row["wall_thickness_mm"]),
    }


def at_earlier_sites(quotes: pl.DataFrame, leak_backs: pl.DataFrame) -> pl.DataFrame:
    """``quotes`` with the cases that ask for earlier leak-backs moved to such a site, its branch and its crew.

    ``leak_backs`` has a row a reported leak-back: job_id. Where no site has so many, the case keeps its own.
    """
    jobs = quotes.select("job_id", "site_id", "branch", "crew_id", "crew_no", "place")
    sites = (
        leak_backs.join(jobs, on="job_id")
        .group_by("site_id")
        .agg(pl.len().alias("count"), pl.col("branch", "crew_id", "crew_no", "place").last())
        .sort("place", descending=True)
    )
    moved = _moves(sites)
    if not moved:
        return quotes
    return quotes.update(pl.DataFrame(moved, schema_overrides={"case_no": quotes["case_no"].dtype}), on="case_no")


def _moves(sites: pl.DataFrame) -> list[Values]:
    """For each case that asks for earlier leak-backs, the next site with just so many and what is written of it."""
    taken: dict[int, int] = {}
    moves: list[Values] = []
    for case_no, case in enumerate(CASES):
        fitting = sites.filter(pl.col("count") == case.site_leak_backs) if case.site_leak_backs else sites.clear()
        nth = taken.get(case.site_leak_backs, 0)
        if nth < fitting.height:
            taken[case.site_leak_backs] = nth + 1
            moves.append({"case_no": case_no} | fitting.drop("count", "place").row(nth, named=True))
    return moves
