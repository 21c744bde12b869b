"""What the risk model was fitted on, how it did, what it does with each fact, and how far to trust it."""

from dataclasses import asdict

from analytics import risk
from analytics.contract import words
from analytics.risk import HazardModel, Verdict

KINDS = {"handed": "given to the crew", "chosen": "decided before the work", "done": "done on the day"}
LIMITS = (
    "It knows what the business wrote down, nothing else.",
    "Its effects are associations in the business's own jobs, not trials.",
    "A crack is watched until its leak-back, the end of its warranty or the day the records reach.",
    "A planned crack is scored on what is known before the work; the crew's own habits stand in for the steps.",
)


def answer(model: HazardModel) -> dict[str, object]:
    """The contract's answer."""
    return {
        "chosen": model.chosen,
        "scores": _scores(model.verdict),
        "challenger": asdict(model.verdict.challenge) if model.verdict and model.verdict.challenge else None,
        "reliability": [asdict(one) for one in model.verdict.reliability] if model.verdict else [],
        "trained_on": {
            "as_of": model.as_of,
            "cracks": model.cracks,
            "leak_backs": model.leak_backs,
            "first_done_on": model.first_done_on,
            "last_done_on": model.last_done_on,
            "oldest_watched_days": model.oldest_days,
            "features": features_by_kind(model),
        },
        "features": list(model.scaling.features),
        "hazard_ratios": risk.hazard_ratios(model).to_dicts(),
        "drift": asdict(model.drift) if model.drift else None,
        "limits": list(limits(model)),
        "notes": list(model.notes),
        "penalties": asdict(model.penalties),
        "versions": model.versions,
    }


def features_by_kind(model: HazardModel) -> dict[str, list[str]]:
    """The model's features, by when each is known."""
    return {kind: [one.name for one in model.scaling.declared if one.kind == kind] for kind in KINDS}


def limits(model: HazardModel) -> tuple[str, ...]:
    """What the model cannot do, and what had to be settled for."""
    past = risk.horizon_note(model, 10**4)
    return (*LIMITS, *((past.split("; ")[0] + ".",) if past else ()), *model.notes)


def sentence(model: HazardModel) -> str:
    """What was fitted and how it did on later jobs, the winner with its margin."""
    counted = f"Fitted on {words.counted(model.cracks, 'crack')} with {words.counted(model.leak_backs, 'leak-back')}"
    if model.verdict is None:
        return f"{counted}; it could not be checked on later jobs yet, so one rate is used for every crack."
    verdict = model.verdict
    since = f"on the {words.counted(verdict.cracks, 'crack')} done since {words.full_day(verdict.cut)}"
    margin = f"its misses, squared, were {margin_over_one_rate(verdict)} smaller than with one rate for all"
    if not verdict.better:
        return (
            f"{counted}, the risk model did no better than one rate for all {since} ({margin}): that one rate is used."
        )
    name = "risk model with a second one on top" if model.chosen == "boosted" else "risk model"
    return f"{counted}, the {name} wins {since}: {margin}."


def margin_over_one_rate(verdict: Verdict) -> str:
    """The share of the base rate's Brier value that the model saves, with its interval (Kattan & Gerds 2018)."""
    gain, whole = verdict.gain, verdict.base_brier
    return words.percent_estimate(gain.value / whole, gain.low / whole, gain.high / whole)


def _scores(verdict: Verdict | None) -> dict[str, object] | None:
    """The scores on later jobs alone; the curve and the challenger stand beside them."""
    if verdict is None:
        return None
    return {key: part for key, part in asdict(verdict).items() if key not in {"reliability", "challenge"}}
