"""The risk model of a store: kept where it is as new as the records, fitted where it is not."""

from dataclasses import asdict, dataclass
from datetime import UTC, datetime

from analytics import risk
from analytics.answers.records import Records
from analytics.errors import TooFewError
from analytics.risk import HazardModel
from analytics.store.committing import keep_model


@dataclass(frozen=True)
class Modelled:
    """The model, or None with the sentence why there is none; ``said`` tells what was done to get it."""

    model: HazardModel | None
    said: str


def fit(records: Records) -> HazardModel:
    """Fit, check and keep the risk model.

    Raises:
        TooFewError: where there are too few leak-backs; the message says how many more would do.
    """
    if records.as_of is None:
        raise TooFewError("no finished work is loaded yet: load jobs, cracks and callbacks first")
    model = risk.train(records.ask("follow_up"), records.as_of)
    keep_model(
        records.store,
        model.to_json(),
        rows_version=records.store.rows_version(),
        hemisphere=records.policy.hemisphere,
        fitted_at=datetime.now(UTC).replace(tzinfo=None),
    )
    return model


def current(records: Records) -> Modelled:
    """The model as new as the records, fitted now where none is kept; too little history is said, not raised."""
    kept = records.ask("model_document")
    if not kept.is_empty():
        model = HazardModel.from_json(kept["document"].item())
        if model.as_of == records.as_of:
            return Modelled(model, "")
    try:
        return Modelled(fit(records), "The risk model was older than the records and has been fitted again.")
    except TooFewError as error:
        return Modelled(None, str(error))


def answer(model: HazardModel) -> dict[str, object]:
    """The contract's answer."""
    verdict = model.verdict
    return {
        "chosen": model.chosen,
        "scores": asdict(verdict) if verdict else None,
        "trained_on": {
            "as_of": model.as_of,
            "cracks": model.cracks,
            "leak_backs": model.leak_backs,
            "first_done_on": model.first_done_on,
            "last_done_on": model.last_done_on,
        },
        "penalties": asdict(model.penalties),
        "features": list(model.scaling.features),
        "notes": list(model.notes),
        "versions": model.versions,
    }


def sentence(model: HazardModel) -> str:
    """What was fitted and how it did on later jobs, in a sentence or two."""
    counted = f"Risk model fitted on {model.cracks:,} cracks with {model.leak_backs} leak-backs."
    return " ".join([counted, model.verdict.words if model.verdict else "", *model.notes]).replace("  ", " ").strip()
