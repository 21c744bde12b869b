"""How far to trust the risks: what they rest on, how they did on later jobs, and whether the work has changed."""

import polars as pl

from analytics import risk
from analytics.answers import model_card, modelling
from analytics.answers.records import Records
from analytics.contract import words
from analytics.pages.page import Caution, Chart, Column, Figure, Figures, Page, Part, Said, Section, Table, Words
from analytics.risk import CAUTION, Drift, HazardModel, Verdict

SHOWN_MOVED = 3
"""Measurements shown although they have not moved beyond chance."""
SECOND_WINS = (
    "A second model on top foretold the later leak-backs better, by more than that may be off, and is used: something "
    "matters in this work that the facts written down do not say"
)
SECOND_LOSES = (
    "A second model on top did not foretell the later leak-backs better by more than that may be off, so it is left out"
)
WORKED_OUT = f"""
**Model.** One hazard model behind every risk: the rate of leaking back at each age of a repair, times the effects of
the crack, the water, the season, the resin and how the crew works; Poisson with exposure (piecewise-exponential,
Holford 1980), the effects and the crews held back by a ridge penalty that is chosen by how well the model foretells
later work. Risk = 1 - exp(-sum of hazard). What each fact does is its hazard ratio.

**Check.** Fitted again on the records as they stood at an earlier day and judged on the jobs done since, with those
still watched weighted in (inverse probability of censoring; Graf et al. 1999, Uno et al. 2011). Where it does no
better than one rate for all, that one rate is used and said. Intervals are at {words.level()}, cracks of one job
together. The misses, squared: the mean squared difference between the chance foreseen and what came (Brier score; the
share saved by Kattan and Gerds 2018). Pairs ranked rightly: concordance. Spread: the slope of the log hazard on what
was foreseen.

**What each fact does** is named where it is beyond chance among so many facts: of those named at most one in twenty may
be false (Benjamini and Hochberg 1995).

**The second model** is boosted trees (gradient boosting, Poisson, never less risk for more water or wider ports) that
try to foretell what the hazard leaves unexplained; the number of rounds is the one that foretells left-out jobs best.
Where they win on the later jobs by more than one standard error, what they find becomes one more feature of the
hazard. What they gain is told as log score a leak-back.

**Latest year.** Each measurement's stability index (PSI) is set against what chance makes of so few jobs, not against a
fixed limit; of all of them at most one in twenty named may be false (Benjamini and Hochberg 1995). Leak-backs of the
latest year, at any age of the repair, are set against those foretold by the records as they stood a year ago.
"""


def build(records: Records, said: Said) -> Page:
    """The model card of the store."""
    del said
    found = modelling.current(records)
    if found.model is None:
        return Page(answer="No risk model yet: flags rest on the rules alone.", wanting=words.sentence(found.said))
    return card(found.model)


def card(model: HazardModel, *, drawn: bool = True) -> Page:
    """The model card of one model, for a terminal without its picture."""
    return Page(
        answer=model_card.sentence(model),
        parts=(
            *_checked(model.verdict, drawn=drawn),
            *_latest_year(model.drift),
            *_effects(model, drawn=drawn),
            Section("What it was fitted on, and its limits", (_fitted_on(model), _limits(model))),
            Caution(f"Each effect is {CAUTION}."),
        ),
        worked_out=WORKED_OUT,
    )


def _fitted_on(model: HazardModel) -> Figures:
    span = f"{words.full_day(model.first_done_on)} to {words.full_day(model.last_done_on)}"
    kinds = {kind: len(names) for kind, names in model_card.features_by_kind(model).items()}
    return Figures(
        (
            Figure("finished cracks", model.cracks),
            Figure("leak-backs", model.leak_backs),
            Figure("work done from", span),
            Figure("records to", words.full_day(model.as_of)),
            *(Figure(f"facts {said}", kinds[kind]) for kind, said in model_card.KINDS.items()),
        )
    )


def _limits(model: HazardModel) -> Words:
    return Words("\n\n".join(model_card.limits(model)), tone="muted")


def _checked(verdict: Verdict | None, *, drawn: bool) -> tuple[Part, ...]:
    if verdict is None:
        return (Words("It could not be checked on later jobs yet."),)
    said = f"{'Better' if verdict.better else 'No better'} than one rate for all. {_challenged(verdict)}".strip()
    title = f"How it did on jobs done since {words.full_day(verdict.cut)}"
    picture = _reliability(verdict) if drawn else ()
    return (Section(title, (*picture, Words(said), _scores(verdict), *_bins(verdict))),)


def _challenged(verdict: Verdict) -> str:
    """What became of the boosted trees, a second model on top, with their margin."""
    challenge = verdict.challenge
    if challenge is None:
        return ""
    if not challenge.rounds:
        return "A second model found nothing to add to it."
    margin = words.estimate(challenge.margin.value, challenge.margin.low, challenge.margin.high, 3)
    said = SECOND_WINS if challenge.winner == "boosted" else SECOND_LOSES
    return f"{said}. It gained {margin} a leak-back, give or take {words.number(challenge.error, 3)}; 0 is no better."


def _reliability(verdict: Verdict) -> tuple[Chart, ...]:
    from analytics.charts.reliability import reliability_curve  # noqa: PLC0415, slow to import

    plot = reliability_curve(_points(verdict), months=verdict.months)
    alt = (
        f"Cracks grouped by the chance foreseen, against the share seen to leak back within {verdict.months} months: "
        "on the dashed line what was foreseen is what was seen."
    )
    note = "Each point is a group of later cracks; above it, how many leaked back."
    return (Chart((plot,), alt, note),) if plot else ()


def _bins(verdict: Verdict) -> tuple[Table, ...]:
    columns = (
        Column("foreseen", "foreseen", kind="percent", help="mean chance of the group"),
        Column("value", "seen", kind="percent", low="low", high="high"),
        Column("leak_backs", "leak-backs", kind="number"),
        Column("cracks", "cracks", kind="number"),
    )
    return (Table(columns, _points(verdict), title="Foreseen and seen, by chance foreseen"),)


def _points(verdict: Verdict) -> pl.DataFrame:
    rows = [
        {
            "foreseen": one.foreseen,
            "value": one.seen.value if one.seen else None,
            "low": one.seen.low if one.seen else None,
            "high": one.seen.high if one.seen else None,
            "leak_backs": one.leak_backs,
            "cracks": one.cracks,
            "watched": one.watched,
        }
        for one in verdict.reliability
    ]
    return pl.DataFrame(rows, schema_overrides=dict.fromkeys(("value", "low", "high"), pl.Float64))


def _scores(verdict: Verdict) -> Figures:
    judged = words.counted(verdict.cracks, "later crack")
    ratio, slope, concordance, gain = verdict.ratio, verdict.slope, verdict.concordance, verdict.gain
    seen = f"{verdict.leak_backs} seen, {words.number(verdict.expected, 1)} foreseen, {judged}"
    spread = "1 is right; under 1, high risks are too high and low ones too low"
    miss = f"less is better; one rate for all gives {words.number(verdict.base_brier, 4)}"
    return Figures(
        (
            Figure(
                "leak-backs seen over foreseen",
                ratio.value,
                ratio.low,
                ratio.high,
                count=seen,
                unit="×",
                digits=2,
                note="1 is right over all",
            ),
            Figure("spread of the risks", slope.value, slope.low, slope.high, digits=2, note=spread),
            Figure(
                "share of pairs ranked rightly",
                concordance.value,
                concordance.low,
                concordance.high,
                digits=2,
                note="a half is chance",
            ),
            Figure(f"mean miss, squared, at {verdict.months} months", verdict.brier, digits=4, note=miss),
            Figure(
                "gained over one rate for all",
                gain.value,
                gain.low,
                gain.high,
                digits=5,
                note="of that miss; above 0 is better",
            ),
        )
    )


def _latest_year(drift: Drift | None) -> tuple[Section, ...]:
    title = "Whether the latest year is like the years before it"
    if drift is None:
        return (Section(title, (Words("Not to be told yet: it takes a full year of records before the latest one."),)),)
    ratio = drift.ratio
    kept_up = Figure(
        "leak-backs seen over foreseen, latest year",
        ratio.value,
        ratio.low,
        ratio.high,
        count=f"{drift.leak_backs} seen, {words.number(drift.expected, 1)} foreseen a year ago",
        unit="×",
        digits=2,
        note="1 is as foreseen",
    )
    shown = [one for place, one in enumerate(drift.moved) if one.stands or place < SHOWN_MOVED]
    rows = pl.DataFrame([_moved(one) for one in shown], schema=_MOVED, orient="row")
    columns = (
        Column("measurement", "measurement, and what moved most", under="group"),
        Column("before", "years before", kind="percent"),
        Column("after", "latest year", kind="percent"),
        Column("index", "moved by", kind="number", digits=3, help="0 is no change at all"),
        Column("by_chance", "by chance", kind="number", digits=3, help="what chance alone makes of it on average"),
        Column("stands", "beyond chance"),
    )
    others = len(drift.moved) - len(shown)
    rest = f"The other {words.counted(others, 'measurement has', 'measurements have')} moved no further."
    table = Table(columns, rows, title="How far the measurements have moved", note=rest if others else "")
    said = Words(words.sentence(drift.words))
    return (Section(title, (said, Figures((kept_up,)), table)),)


def _moved(one: risk.Moved) -> tuple[object, ...]:
    known = words.word(one.measurement), words.word(one.group), one.before, one.after, one.index, one.by_chance
    return (*known, words.text(one.stands))


_MOVED: dict[str, pl.DataType] = {
    "measurement": pl.String(),
    "group": pl.String(),
    **dict.fromkeys(("before", "after", "index", "by_chance"), pl.Float64()),
    "stands": pl.String(),
}


def _effects(model: HazardModel, *, drawn: bool) -> tuple[Section, ...]:
    """The facts whose effect is beyond chance, the strongest first; how many are not, and what has them."""
    ratios = risk.hazard_ratios(model)
    if ratios.is_empty():
        return ()
    by_chance, apart = ~pl.col("stands"), pl.col("ratio").log().abs()
    rows = ratios.sort(by_chance, -apart).with_columns(pl.col("kind").replace_strict(model_card.KINDS))
    beyond = rows.filter(~by_chance).height
    columns = (
        Column("words", "fact"),
        Column("ratio", "times as fast", "number", "×", "leaks back, all else alike", low="low", high="high", digits=2),
        Column("share", "cracks it holds for", kind="percent"),
        Column("kind", "known"),
    )
    others = rows.height - beyond
    said = words.counted(others, "other fact")
    found = "The CSV and XLSX have them." if drawn else "All are in: leakback fit --format json."
    more = f"{said} may be chance alone. {found}" if others else ""
    title, none = "What each fact does", "None of them beyond chance."
    table = Table(columns, rows, title=title, note=more, empty=none, most=beyond)
    return (Section("What each fact does, all else alike", (table,)),)
