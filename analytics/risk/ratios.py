"""What each declared fact does to the hazard, on its own scale, for whoever wants to look under the lid."""

from math import erfc, sqrt

import numpy as np
import polars as pl

from analytics.risk.model import HazardModel
from analytics.risk.outcome import Z_95
from analytics.stats.multiplicity import stands

COLUMNS = {
    "name": pl.String,
    "subject": pl.String,
    "words": pl.String,
    "kind": pl.String,
    "ratio": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "share": pl.Float64,
}


def hazard_ratios(model: HazardModel) -> pl.DataFrame:
    """How many times the hazard each fact makes, all else alike, with its 95 % interval.

    name, subject, words, kind (when it is known: handed, chosen or done), ratio, low, high, share (of the cracks on
    which it was recorded, where it holds; null for a number). A yes/no is against its not holding, a number per the
    difference its words name; ``stands``, whether it is beyond chance among as many facts (Benjamini & Hochberg).
    Shrunk by the penalty the model was fitted with; none where the base rate is used.
    """
    first = len(model.edges_days)
    errors = np.sqrt(np.diag(np.array(model.covariance)))[first:]
    rows, p_values = [], []
    for place, feature in enumerate(model.scaling.declared):
        log, error = (
            float(part) * feature.step / model.scaling.scales[place] for part in (model.effects[place], errors[place])
        )
        p_values.append(erfc(abs(log) / error / sqrt(2)))
        rows.append(
            (
                feature.name,
                feature.subject.name,
                feature.words if feature.yes_no else feature.per,
                feature.kind,
                float(np.exp(log)),
                float(np.exp(log - Z_95 * error)),
                float(np.exp(log + Z_95 * error)),
                model.scaling.centres[place] if feature.yes_no else None,
            )
        )
    found = pl.DataFrame(rows, schema=COLUMNS, orient="row")
    return found.with_columns(stands=pl.Series(stands(p_values), dtype=pl.Boolean))
