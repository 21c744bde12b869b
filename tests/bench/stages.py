"""Our stages, one a process: ``python -m tests.bench.stages STAGE FOLDER``."""

import sys
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench.making import parts
from tests.bench.running import tell

MONTHS = 24
CURVE_MONTHS = tuple(range(1, 61))
METRICS = ("leak_back_rate", "material_per_metre", "take_ratio", "labour_per_crack", "labour_per_metre")
PAGES = (
    "today", "upcoming", "quote", "crews", "prices", "reserve", "take_ratio", "record", "holdings", "quality", "trust",
    "leak_backs",
)  # fmt: skip
"""The pages, by their modules; the one that loads files has nothing to work out."""
QUICK_S, ROUNDS = 2.0, 3
"""A stage whose work takes less processor time is done three times in its process, and the least counts."""
Stage = Callable[[Path], object]


def store(folder: Path) -> Path:
    """Where the loaded store of a generated business lies."""
    return folder / "store.duckdb"


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


def _page(name: str) -> Stage:
    def stage(folder: Path) -> object:
        from importlib import import_module

        from analytics.answers.records import Records

        records = Records.of(store(folder))
        with records.store.reading():
            return import_module(f"analytics.pages.{name}").build(records, {}).answer

    return stage


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
    **{f"page_{name}": _page(name) for name in PAGES},
}
ONCE = ("load_csv", "load_parquet", "fit")


def main(name: str, folder: Path) -> None:
    """Run one stage; the first round's imports are not counted as work where it is quick enough for a second."""
    took = []
    for _ in range(ROUNDS):
        begun, worked = time.perf_counter(), time.process_time()
        answer = STAGES[name](folder)
        took.append((time.process_time() - worked, time.perf_counter() - begun))
        if name in ONCE or took[-1][0] > QUICK_S:
            break
    processor, seconds = min(took)
    tell(seconds, answer, processor=processor)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
