"""Planned jobs small enough to know by heart, and the flags of their cracks."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from analytics.answers import flagging
from analytics.answers.flagging import Flags
from analytics.answers.loading import load
from analytics.answers.records import Records
from tests.histories import DONE_JOB, TODAY, write_tables

PLANNED = {"status": "planned", "planned_on": "2026-12-01", "crew_id": "C01", "branch": "North"}
PLAIN: dict[str, object] = {
    "length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200, "offset_mm": 0, "direction": "vertical",
    "water": "dry", "movement": "still", "resin": "epoxy", "port_spacing_mm": 200, "wall_temp_c": 12,
}  # fmt: skip


def flags_of(folder: Path, planned: Mapping[str, Sequence[Mapping[str, object]]]) -> Flags:
    """The flags of ``planned`` jobs' cracks, each numbered by its job and place, in a store made in ``folder``."""
    jobs = [DONE_JOB, *({"job_id": name} | PLANNED for name in planned)]
    cracks = [
        {**crack, "job_id": name, "crack_id": f"{name[:61]}-{place}"}
        for name, cracks in planned.items()
        for place, crack in enumerate(cracks, start=1)
    ]
    load(folder / "store.duckdb", [write_tables(folder / "files", {"jobs": jobs, "cracks": cracks})], today=TODAY)
    return flagging.flags(Records.of(folder / "store.duckdb"))
