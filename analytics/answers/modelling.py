"""The risk model of a store: kept where it is as new as the records, fitted where it is not."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from analytics import risk
from analytics.answers.acting import LOG, acting, keep_followed
from analytics.answers.records import Records
from analytics.answers.standing import allowed, needs
from analytics.contract import words
from analytics.errors import CannotWriteError, LeakbackError, TooFewError
from analytics.risk import HazardModel
from analytics.store.committing import keep_model

FITTED_NOW = "No risk model as new as the records was kept: it has been fitted."
FOR_THIS_ANSWER = "The risk model was fitted for this answer only: it could not be kept in the store."
NOT_KEPT = "The risk model kept is older than the records: it was fitted anew for this answer, and not kept."

ONE_RISK = (
    "One rate of leak-backs is used for every crack, dry or wet, narrow or wide: these records do not yet tell them "
    "apart, and its interval is of the average crack, not of each."
)


@dataclass(frozen=True)
class Modelled:
    """The model, or None with the sentence why there is none; ``said`` tells what was done to get it."""

    model: HazardModel | None
    said: str


@needs("fit")
def fit(records: Records) -> HazardModel:
    """Fit, check and keep the risk model, with nobody changing the records meanwhile.

    Raises:
        TooFewError: where there are too few leak-backs; the message says how many more would do.
        CannotWriteError: where it cannot be kept.
    """
    with records.store.writing("fit"):
        if records.store.state() != records.ask.state:
            records = Records.of(records.store.path)
        model = _train(records)
        _keep(records, model)
    return model


def stands(records: Records) -> bool:
    """Whether a model as new as the records is kept, so that no answer has to fit one."""
    return _kept(records) is not None


def one_rate(model: HazardModel | None) -> str:
    """That every crack has the same risk, and whose interval it is, where the base rate is used; else nothing."""
    return ONE_RISK if model and model.chosen == "base_rate" else ""


def not_kept_up(model: HazardModel | None) -> str:
    """That the latest year's leak-backs run apart from what is foretold, by more than chance; else nothing.

    To be said beside every number of leak-backs to come: its interval knows nothing of work that gets better or worse.
    """
    drift = model.drift if model else None
    if drift is None or drift.ratio.low <= 1 <= drift.ratio.high:
        return ""
    ends = f"{words.interval(drift.ratio.low, drift.ratio.high, 2)} at {words.level()}"
    more, less = ("low", "high") if drift.ratio.low > 1 else ("high", "low")
    return (
        f"Leak-backs of the latest year run apart from the years before: {words.number(drift.leak_backs)} seen, "
        f"{words.number(drift.expected)} foretold ({words.number(drift.ratio.value, 2, '×')}, {ends}). "
        "Leak-backs to come are foretold from all years together, "
        f"so they are more likely too {more} than too {less}, and their interval does not allow for it."
    )


def current(records: Records) -> Modelled:
    """The model as new as the records, fitted now where none is kept; too little history is said, not raised.

    Where it cannot be kept it serves this answer only. That it was fitted is a notice too, for the forms of an answer
    that have no place for it.
    """
    if (kept := _kept(records)) is not None:
        return Modelled(kept, "")
    try:
        if not allowed("fit"):
            return Modelled(_unkept(records), NOT_KEPT)
        found = _fitted_now(records)
    except TooFewError as error:
        return Modelled(None, str(error))
    if found.said:
        LOG.warning(found.said)
    return found


def _fitted_now(records: Records) -> Modelled:
    with ExitStack() as stack:
        try:
            stack.enter_context(records.store.writing("fit"))
        except CannotWriteError:
            return Modelled(_train(records), FOR_THIS_ANSWER)
        if (kept := _kept(records)) is not None:  # by whoever wrote until now
            return Modelled(kept, "")
        model = _train(records)
        try:
            _keep(records, model)
        except CannotWriteError:
            return Modelled(model, FOR_THIS_ANSWER)
        return Modelled(model, FITTED_NOW)


def _unkept(records: Records) -> HazardModel:
    """The model for who may not keep one, trained once for the records as they are."""
    if records.ask.state is None:
        return _train(records)
    return _trained(records.store.path, records.ask.state, records.as_of)


@lru_cache(maxsize=2)
def _trained(path: Path, state: str, as_of: date | None) -> HazardModel:
    del state
    return _train(Records.of(path, as_of))


def _kept(records: Records) -> HazardModel | None:
    found = records.ask("model_document")
    try:
        model = None if found.is_empty() else HazardModel.from_json(found["document"].item())
    except LeakbackError:
        return None  # kept by another version of this program, or damaged: it is fitted again
    return model if model is not None and model.as_of == records.as_of else None


def _train(records: Records) -> HazardModel:
    if records.as_of is None:
        raise TooFewError("no finished work is loaded yet: load jobs, cracks and callbacks first")
    with ThreadPoolExecutor(max_workers=1) as beside:
        if records.ask.followed:  # of so many cracks enough have leaked back, so nobody gets ready in vain
            beside.submit(risk.get_ready)
        return risk.train(records.ask("follow_up", read=risk.READ), records.as_of)


def _keep(records: Records, model: HazardModel) -> None:
    keep_model(
        records.store,
        model.to_json(),
        state=records.ask.state or records.store.state(),
        hemisphere=records.policy.hemisphere,
        act=acting(records.store.path),
    )
    if records.ask.followed is None:
        keep_followed(records.store)
