"""Our stages, one a process: ``python -m tests.bench.stages STAGE FOLDER``."""

import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tests.bench.folders import parts, store
from tests.bench.running import tell

MONTHS = 24
CURVE_MONTHS = tuple(range(1, 61))
METRICS = ("leak_back_rate", "material_per_metre", "take_ratio", "labour_per_crack", "labour_per_metre")
QUICK_S, ROUNDS = 2.0, 3
"""A stage whose work takes less processor time is done three times in its process, and the least counts."""
CHANGED: Mapping[str, Mapping[str, str]] = {
    "upcoming": {"needs": "standard"},
    "quote": {"width_mm": "1"},
    "leak-backs": {"months": "12"},
    "crews": {"months": "12"},
    "prices": {"by": "resin"},
    "reserve": {"level": "0.5"},
    "records": {"table": "cracks"},
}
"""A choice a reader changes, on the pages that have one."""
Stage = Callable[[Path], object]


@dataclass(frozen=True)
class Again:
    """A page built again: its answer, and the wall and processor seconds of that alone."""

    answer: object
    seconds: float
    processor: float


def _load(folder: Path, kind: str) -> object:
    from analytics.answers.loading import load

    path = folder / f"{kind}.duckdb"
    for part in parts(folder, kind):
        loaded = load(path, [part])
    return {name: [count.read, count.rejected] for name, count in loaded.tables.items()}


def load_csv(folder: Path) -> object:
    """Every part loaded from CSV into a new store, which the later stages read."""
    store(folder).unlink(missing_ok=True)
    (folder / "csv.duckdb").unlink(missing_ok=True)
    answer = _load(folder, "csv")
    (folder / "csv.duckdb").rename(store(folder))
    return answer


def load_parquet(folder: Path) -> object:
    """Every part loaded from Parquet into a new store, which is thrown away."""
    try:
        return _load(folder, "parquet")
    finally:
        (folder / "parquet.duckdb").unlink(missing_ok=True)


def _measured(metric: str) -> Stage:
    def stage(folder: Path) -> object:
        from analytics.answers.measuring import measure
        from analytics.answers.records import Records

        return measure(Records.of(store(folder)), metric, ["resin"], months=MONTHS).rows.to_dicts()

    return stage


def curves(folder: Path) -> object:
    """The leak-back rate at every month of five years for the eight groups of material and season."""
    from analytics import metrics
    from analytics.answers.records import Records
    from analytics.contract.dimensions import dimensions

    ask = Records.of(store(folder)).ask
    return metrics.curves(ask, dimensions(["resin", "season"]), ages_months=CURVE_MONTHS).height


def fit(folder: Path) -> object:
    """The risk model: penalties chosen, checked on later jobs, trees tried, kept."""
    from analytics.answers import modelling
    from analytics.answers.records import Records

    model = modelling.fit(Records.of(store(folder)))
    return {"chosen": model.chosen, "cracks": model.cracks, "parameters": model.parameters}


def altogether(folder: Path) -> object:
    """All that the analyst's script does too, in one process as there: load, rate, material, fit, flags."""
    parts = (load_csv, _measured("leak_back_rate"), _measured("material_per_metre"), fit, flags)
    return [stage(folder) for stage in parts]


def crews(folder: Path) -> object:
    """Every crew against expected."""
    from analytics.answers.crews import crews
    from analytics.answers.records import Records

    return crews(Records.of(store(folder))).rows.select("crew_id", "ratio", "signal").to_dicts()


def flags(folder: Path) -> object:
    """Every planned crack flagged."""
    from analytics.answers.flagging import flags
    from analytics.answers.records import Records

    return len(flags(Records.of(store(folder))).answer(everything=True)["rows"])  # type: ignore[arg-type]


def quotes(folder: Path) -> object:
    """Every planned crack quoted."""
    from analytics.answers.quoting import quote_planned
    from analytics.answers.records import Records

    return len(quote_planned(Records.of(store(folder))).answer()["rows"])  # type: ignore[arg-type]


def reserve(folder: Path) -> object:
    """What to set aside."""
    from analytics.answers.records import Records
    from analytics.answers.reserving import reserve

    return reserve(Records.of(store(folder))).answer()["expected_leak_backs"]


def _page(path: str, changed: Mapping[str, str] | None = None) -> Stage:
    """A page as the dashboard builds it first; with a ``changed`` choice, again after that, the store unchanged."""

    def stage(folder: Path) -> object:
        from analytics.answers.records import Records
        from analytics.pages.questions import PAGES
        from analytics.store import Kept

        build = PAGES[path][1]
        records = Records.of(store(folder), kept=Kept())
        with records.store.reading():
            page = build(records, {})
            if changed is None:
                return page.answer
            begun, worked = time.perf_counter(), time.process_time()
            answer = build(records, changed).answer
        return Again(answer, time.perf_counter() - begun, time.process_time() - worked)

    return stage


def pages() -> dict[str, Stage]:
    """Every page, and again with a choice changed. Not among STAGES, which would then pay for importing them."""
    from analytics.pages.questions import PAGES

    found = {f"page {path}": _page(path) for path in PAGES}
    return found | {f"again {path}": _page(path, CHANGED[path]) for path in PAGES if path in CHANGED}


STAGES: dict[str, Stage] = {
    "load_csv": load_csv,
    "load_parquet": load_parquet,
    **{metric: _measured(metric) for metric in METRICS},
    "curves": curves,
    "fit": fit,
    "crews": crews,
    "flags": flags,
    "quotes": quotes,
    "reserve": reserve,
    "altogether": altogether,
}
ONCE = ("load_csv", "load_parquet", "fit", "altogether")


def main(name: str, folder: Path) -> None:
    """Run one stage; the first round's imports are not counted as work where it is quick enough for a second."""
    took, stage = [], STAGES.get(name) or pages()[name]
    for _ in range(ROUNDS):
        begun, worked = time.perf_counter(), time.process_time()
        answer = stage(folder)
        whole = time.process_time() - worked
        took.append((whole, time.perf_counter() - begun))
        if isinstance(answer, Again):
            took[-1] = (answer.processor, answer.seconds)
            answer = answer.answer
        if name in ONCE or whole > QUICK_S:
            break
    processor, seconds = min(took)
    tell(seconds, answer, processor=processor)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
