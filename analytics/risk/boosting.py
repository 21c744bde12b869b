"""Boosted trees on what the hazard leaves unexplained: an alarm that a term is missing, and the term itself.

The trees foretell leak-backs seen over leak-backs expected, weighted by what was expected (Poisson), from what is
known before the work: one row a crack, for over age bands with one ratio both sides may be summed. Before their first
round they say 1 for every crack, so they only win where the declared features miss something. What they find enters
the hazard as one more feature, so reasons, intervals, changes and sums go on as before.
"""

from base64 import b64decode, b64encode
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, Final
from zipfile import ZIP_DEFLATED, BadZipFile

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.tables import WATERS
from analytics.errors import LeakbackError
from analytics.risk.features import FEATURES, TOGETHER
from analytics.risk.jobs import job_numbers
from analytics.risk.poisson import Array
from analytics.stats.threads import one_thread

if TYPE_CHECKING:
    from sklearn.ensemble import HistGradientBoostingRegressor

NUMBERS: dict[str, pl.Expr] = {
    **{
        column: pl.col(column).cast(pl.Float64)
        for column in ("width_mm", "length_m", "wall_thickness_mm", "offset_mm", "wall_temp_c")
    },
    "wetness": pl.col("water")
    .cast(pl.String)
    .replace_strict({word: place for place, word in enumerate(WATERS)}, default=None, return_dtype=pl.Float64),
    "spacing_to_wall": pl.col("port_spacing_mm").cast(pl.Float64) / pl.col("wall_thickness_mm").cast(pl.Float64),
}
"""Measurements as they are, and water by how wet it is; the trees find their own thresholds."""
NEVER_LESS = frozenset({"wetness", "spacing_to_wall"})
"""Where these grow the trees may only add risk. Not so for width: a hairline may be the harder to fill."""
WORDS = tuple(
    feature
    for feature in FEATURES
    if feature.yes_no
    and feature.kind != "done"
    and set(feature.columns) & {"movement", "direction", "access", "season"}
)
INPUTS: dict[str, pl.Expr] = {
    **NUMBERS,
    **{feature.name: feature.value for feature in WORDS},
    "foam": pl.col("resin").cast(pl.String) == "urethane_foam",
}
MOST_ROUNDS = 40
FOLDS = 4
LEARNING_RATE = 0.1
LEAVES = 8
BINS = 32
"""Thresholds tried for a number."""
FEWEST_CRACKS_IN_LEAF = 60
"""About five leak-backs at the rates of this trade."""
TRUSTED: Final = ("sklearn.ensemble._hist_gradient_boosting.predictor.TreePredictor",)
"""The one type beside skops' own that a kept forest may hold. This narrows what a file can do; it is no sandbox."""
STRANGE = "the kept risk model holds something other than boosted trees: fit it again."


class Forest:
    """Fitted trees: what they make of a crack, and how they are kept."""

    def __init__(self, regressor: "HistGradientBoostingRegressor", rounds: int) -> None:
        self._regressor = regressor
        self.rounds = rounds

    @one_thread()
    def log_ratios(self, cracks: pl.DataFrame) -> Array:
        """The log of how many times the hazard's own leak-backs the trees expect of each crack (n)."""
        if cracks.is_empty():
            return np.empty(0)
        ratios: Array = np.log(self._regressor.predict(_inputs(cracks)))
        return ratios

    def to_text(self) -> str:
        """The trees as text; from_text gives them back."""
        return b64encode(import_module("skops.io").dumps(self._regressor, compression=ZIP_DEFLATED)).decode()


def get_ready() -> None:
    """Import what trees are grown with, which takes a second, while something else is waited for."""
    for name in ("sklearn.ensemble", "sklearn.model_selection"):
        import_module(name)


@lru_cache(maxsize=2)
def from_text(text: str) -> Forest:
    """The trees kept in ``text``; LeakbackError where it is damaged or holds anything but trees."""
    from sklearn.ensemble import HistGradientBoostingRegressor  # noqa: PLC0415, slow to import

    skops = import_module("skops.io")  # slow to import, and seldom needed
    try:
        kept = skops.loads(b64decode(text, validate=True), trusted=list(TRUSTED))
    except skops.exceptions.UntrustedTypesFoundException as error:
        raise LeakbackError(STRANGE) from error
    except (ValueError, KeyError, AttributeError, TypeError, BadZipFile) as error:
        raise LeakbackError(f"the kept boosted trees are damaged ({type(error).__name__}): fit them again.") from error
    if not isinstance(kept, HistGradientBoostingRegressor):
        raise LeakbackError(STRANGE)
    return Forest(kept, int(kept.n_iter_))


def together(text: str, cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with the learnt feature, as the kept trees have it."""
    return cracks.with_columns(pl.Series(TOGETHER.name, from_text(text).log_ratios(cracks), dtype=pl.Float64))


def grow(cracks: pl.DataFrame, expected: Array) -> tuple[Forest, Array] | None:
    """Trees on done cracks and what the hazard expects of each (n), and what they say of cracks they have not seen.

    The number of rounds is the one that foretells left-out jobs best (cross-validated by job, no early stopping,
    which would split the cracks of a job). Those left-out predictions are the second answer (n): only they are fit to
    weigh the feature by. None where no round foretells better than none.
    """
    x, leaked = _inputs(cracks), cracks["leaked_back"].to_numpy().astype(np.float64)
    folds = _folds(cracks)
    staged = np.zeros((MOST_ROUNDS + 1, len(x)))
    with one_thread():
        for out in folds:
            kept = np.setdiff1d(np.arange(len(x)), out)
            forest = _fit(x[kept], leaked[kept], expected[kept], MOST_ROUNDS)
            staged[1:, out] = np.log(list(forest.staged_predict(x[out])))
        scores = staged @ leaked - np.exp(staged) @ expected
        rounds = int(scores.argmax())
        return (Forest(_fit(x, leaked, expected, rounds), rounds), staged[rounds]) if rounds else None


def _fit(x: Array, leaked: Array, expected: Array, rounds: int) -> "HistGradientBoostingRegressor":
    from sklearn.ensemble import HistGradientBoostingRegressor  # noqa: PLC0415, slow to import

    regressor = HistGradientBoostingRegressor(
        loss="poisson",
        learning_rate=LEARNING_RATE,
        max_iter=rounds,
        max_leaf_nodes=LEAVES,
        max_bins=BINS,
        min_samples_leaf=FEWEST_CRACKS_IN_LEAF,
        monotonic_cst=[int(name in NEVER_LESS) for name in INPUTS],
        early_stopping=False,
        random_state=0,
    )
    nowhere_recorded = np.isnan(x).all(axis=0)  # scikit-learn finds no thresholds in what is missing throughout
    return regressor.fit(np.where(nowhere_recorded, 0.0, x), leaked / expected, sample_weight=expected)


def _folds(cracks: pl.DataFrame) -> list[NDArray[np.int64]]:
    """The places of the cracks left out in turn, all of a job together."""
    from sklearn.model_selection import GroupKFold  # noqa: PLC0415, slow to import

    jobs = job_numbers(cracks)
    return [out for _, out in GroupKFold(FOLDS).split(jobs, groups=jobs)]


def _inputs(cracks: pl.DataFrame) -> Array:
    """What the trees see (n by inputs), NaN where not recorded."""
    values = [value.cast(pl.Float64).alias(name) for name, value in INPUTS.items()]
    return cracks.select(values).fill_null(float("nan")).to_numpy().astype(np.float64)
