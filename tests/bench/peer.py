"""An analyst's usual script doing the same work: pandas, lifelines and statsmodels.

``python -m tests.bench.peer FOLDER``. Written plainly, as such scripts are. It makes one fit and stops there; ours also
chooses penalties, checks itself on later jobs and tries trees. Its rows are the same: a crack and an age band, the
crews in the model.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lifelines
import numpy as np
import pandas as pd
import statsmodels.api as sm

from tests.bench.folders import parts
from tests.bench.running import tell

EDGES_DAYS = (0, 91, 365, 730, 1826)
MONTHS_24 = 730.5
NUMBERS = ["log_width", "length_m", "wall_thickness_mm"]
WORDS = ["water", "movement", "direction", "access", "season", "resin", "crew_id", "band"]
YES_NO = ["cold", "wide_spacing", "epoxy_on_wet", "cleaned", "dried", "water_tested"]


def load(folder: Path) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Done cracks with how long each was watched, and planned ones."""
    jobs, cracks, calls = (
        pd.concat([pd.read_csv(part / f"{name}.csv") for part in parts(folder, "csv")], ignore_index=True)
        for name in ("jobs", "cracks", "callbacks")
    )
    for name in ("quoted_on", "planned_on", "done_on"):
        jobs[name] = pd.to_datetime(jobs[name])
    calls["reported_on"] = pd.to_datetime(calls["reported_on"])
    as_of = max(jobs["quoted_on"].max(), jobs["done_on"].max(), calls["reported_on"].max())
    table = cracks.merge(jobs, on="job_id")
    done = table[table["status"] == "done"].copy()
    leaks = calls[calls["finding"] == "leak_back"]
    only = done.groupby("job_id")["crack_id"].first()
    leaks = leaks.assign(crack_id=leaks["crack_id"].fillna(leaks["job_id"].map(only)))
    done["leaked_on"] = done["crack_id"].map(leaks.groupby("crack_id")["reported_on"].min())
    months = done["warranty_months"].fillna(1200)
    ends = (done["done_on"] + pd.to_timedelta(months * 30.4375, unit="D")).clip(upper=as_of)
    done["event"] = done["leaked_on"].notna() & (done["leaked_on"] <= ends)
    done["days"] = ((done["leaked_on"].where(done["event"], ends)) - done["done_on"]).dt.days.clip(lower=0.5)
    done["season"] = done["done_on"].dt.month % 12 // 3
    return done, table[table["status"] == "planned"].copy()


def rate(done: pd.DataFrame) -> object:
    """Kaplan-Meier at 24 months for each resin."""
    found = {}
    for resin, group in done.groupby("resin"):
        curve = lifelines.KaplanMeierFitter().fit(group["days"], group["event"])
        found[resin] = [
            1 - float(curve.predict(MONTHS_24)),
            curve.confidence_interval_survival_function_.asof(MONTHS_24).tolist(),
        ]
    return found


def material(done: pd.DataFrame) -> object:
    """Resin per metre for each resin, with what describes it."""
    known = done.dropna(subset=["resin_litres", "length_m"])
    sums = known.groupby("resin")[["resin_litres", "length_m"]].sum()
    described = (known["resin_litres"] / known["length_m"]).groupby(known["resin"]).describe()
    return [(sums["resin_litres"] / sums["length_m"]).to_dict(), described["std"].to_dict()]


def _design(rows: pd.DataFrame) -> pd.DataFrame:
    rows = rows.assign(
        log_width=np.log(rows["width_mm"].fillna(0.5)),
        cold=rows["wall_temp_c"] < 10,
        wide_spacing=rows["port_spacing_mm"] > rows["wall_thickness_mm"],
        epoxy_on_wet=(rows["resin"] == "epoxy") & rows["water"].isin(["seeping", "running"]),
    )
    words = pd.get_dummies(rows[WORDS].astype("category"), drop_first=True, dtype=float)
    yes_no = rows[YES_NO].astype(float).fillna(0.0)
    return sm.add_constant(pd.concat([rows[NUMBERS].fillna(rows[NUMBERS].mean()), yes_no, words], axis=1))


def fit(done: pd.DataFrame) -> object:
    """A binomial regression of leaking back in each age band, with crew effects (discrete-time hazard)."""
    bands = []
    for band, (start, end) in enumerate(zip(EDGES_DAYS, (*EDGES_DAYS[1:], np.inf), strict=True)):
        seen = done[done["days"] > start]
        bands.append(
            seen.assign(
                band=band,
                years=(seen["days"].clip(upper=end) - start) / 365.25,
                leaked=(seen["event"] & (seen["days"] <= end)).astype(float),
            )
        )
    rows = pd.concat(bands, ignore_index=True)
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    return sm.GLM(rows["leaked"], _design(rows), family=family, offset=np.log(rows["years"])).fit()


def flags(planned: pd.DataFrame) -> object:
    """The planned cracks that need an engineer, a measurement or extra prep, by the rules."""
    wet = planned["water"].isin(["damp", "seeping", "running"])
    engineer = planned["direction"].isin(["horizontal", "stepped"]) | (planned["offset_mm"] >= 3)
    engineer |= (planned["width_mm"] >= 6) | (planned["movement"] == "growing")
    measure = planned[["direction", "width_mm", "offset_mm", "length_m"]].isna().any(axis=1)
    prep = ((planned["resin"] == "epoxy") & wet) | (planned["wall_temp_c"] < 10) | (planned["width_mm"] < 0.15)
    prep |= planned["port_spacing_mm"] > planned["wall_thickness_mm"]
    action = np.select([engineer, measure, prep], ["engineer_review", "measure_first", "extra_prep"], "standard")
    return pd.Series(action).value_counts().to_dict()


def main(folder: Path) -> None:
    """The whole script, each part timed."""
    seconds: dict[str, float] = {}

    def timed(name: str, work: Callable[[], Any]) -> Any:
        begun = time.process_time()
        found = work()
        seconds[name] = time.process_time() - begun
        return found

    done, planned = timed("load", lambda: load(folder))
    answers = {
        "rate": timed("rate", lambda: rate(done)),
        "material": timed("material", lambda: material(done)),
        "flags": timed("flags", lambda: flags(planned)),
    }
    timed("fit", lambda: fit(done))
    total = sum(seconds.values())
    tell(total, {"seconds": seconds, **answers}, processor=total)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
