"""How far to trust the risks: what they were fitted on, and how they did on later jobs."""

from analytics.answers import modelling
from analytics.answers.records import Records
from analytics.charts import words
from analytics.pages.page import Caution, Figure, Figures, Page, Part, Said, Section, Words
from analytics.risk import CAUTION, HazardModel, Verdict

WORKED_OUT = """
**Model.** One hazard model behind every risk: the rate of leaking back at each age of a repair, times the effects of
the crack, the water, the season, the resin and how the crew works; Poisson with exposure, the effects and the crews
held back by a ridge penalty that is chosen by how well the model foretells later work. Risk = 1 - exp(-sum of hazard).

**Check.** Fitted again on the records as they stood at an earlier day and judged on the jobs done since, with those
still watched weighted in (inverse probability of censoring). Where it does no better than one rate for all, that one
rate is used and said.

**Limits.** It knows what the business wrote down, nothing else. Its effects are associations in past work, not trials.
"""


def build(records: Records, said: Said) -> Page:
    """The model card of the store."""
    del said
    found = modelling.current(records)
    if found.model is None:
        return Page(answer="No risk model yet: flags rest on the rules alone.", wanting=found.said)
    return card(found.model)


def card(model: HazardModel) -> Page:
    """The model card of one model."""
    return Page(
        answer=modelling.sentence(model),
        parts=(Section("What it was fitted on", (_fitted_on(model),)), *_checked(model.verdict), Caution(CAUTION)),
        worked_out=WORKED_OUT,
    )


def _fitted_on(model: HazardModel) -> Figures:
    span = f"{words.full_day(model.first_done_on)} to {words.full_day(model.last_done_on)}"
    return Figures(
        (
            Figure("finished cracks", model.cracks),
            Figure("leak-backs", model.leak_backs),
            Figure("work done from", span),
            Figure("records to", words.full_day(model.as_of)),
            Figure("features", len(model.scaling.features)),
        )
    )


def _checked(verdict: Verdict | None) -> tuple[Part, ...]:
    if verdict is None:
        return (Words("It could not be checked on later jobs yet."),)
    judged = words.counted(verdict.cracks, "later crack")
    figures = Figures(
        (
            Figure(
                "leak-backs seen over foreseen",
                verdict.ratio.value,
                verdict.ratio.low,
                verdict.ratio.high,
                count=f"{verdict.leak_backs} seen, {words.number(verdict.expected, 1)} foreseen, {judged}",
                unit="×",
                digits=2,
                note="1 is right in the large",
            ),
            Figure(
                "spread of the risks",
                verdict.slope.value,
                verdict.slope.low,
                verdict.slope.high,
                digits=2,
                note="slope; 1 is right, under 1 means high risks are too high and low ones too low",
            ),
            Figure(
                "share of pairs ranked rightly",
                verdict.concordance.value,
                verdict.concordance.low,
                verdict.concordance.high,
                digits=2,
                note="concordance; a half is chance",
            ),
            Figure(
                f"squared error at {verdict.months} months",
                verdict.brier,
                digits=4,
                note=f"Brier; one rate for all gives {words.number(verdict.base_brier, 4)}",
            ),
            Figure(
                "gained over one rate for all",
                verdict.gain.value,
                verdict.gain.low,
                verdict.gain.high,
                digits=5,
                note="Brier gained; above 0 is better",
            ),
        )
    )
    return (Section(f"How it did on jobs done since {words.full_day(verdict.cut)}", (Words(verdict.words), figures)),)
