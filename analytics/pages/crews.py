"""Is a crew's run of callbacks bad luck or bad practice? The judgement, and a crew's own sheet."""

from dataclasses import replace

import polars as pl

from analytics.answers import crew_sentences as sentences
from analytics.answers import crews as judging
from analytics.answers.crews import Crews
from analytics.answers.records import Records
from analytics.charts.funnel import funnel
from analytics.charts.runs import crew_runs
from analytics.contract import words
from analytics.contract.descriptions import crew_said
from analytics.contract.roles import CREWS_PAGE
from analytics.crews import FEWEST_FOR_SPREAD
from analytics.pages import crew, crew_work
from analytics.pages.leak_backs import MONTHS
from analytics.pages.page import Chart, Column, Page, Part, ReasonLine, Reasons, Said, Section, Table, Words

PATH = CREWS_PAGE
WORKED_OUT = f"""
**Expected.** For each crew the hazard model is fitted to the other crews' cracks alone, on what was handed to them and
not on how they worked, and counts what it expects of this crew's cracks over the time each was watched, within the
months chosen. So a crew does not set its own mark.

**Ratio and signal.** Observed over expected with its {words.level()} interval: exact Poisson (Garwood 1936), widened to
gamma-Poisson. A crew is signalled past the 99.8 % limit of the funnel (exact, interpolated: Spiegelhalter, Statistics
in Medicine 24 (2005) 1185) or where it stands by Benjamini and Hochberg (1995) at 5 % over all crews, by exact
p-values. All three allow for cracks of one job going together and for expected being an estimate itself; from
{FEWEST_FOR_SPREAD} crews on the signal allows for crews that differ anyway too.

**Beside a crew that has more.** It raises what is expected of all the others, so that level crews read under 1. Each is
held once more against the others without the crews that have more, and *fewer* is signalled only where it stands so
too. *More* is not asked again, or it would feed on itself; a crew that has far fewer lifts the others' ratios a little
in the same way.

**Spread between crews.** The dotted limits allow for crews that differ anyway (additive variance, outer tenth drawn in,
Spiegelhalter 2005). With fewer than {FEWEST_FOR_SPREAD} crews one bad crew widens those limits and hides itself, so
both are shown and the ones for chance alone decide.

**Held back.** The shrunken ratio is gamma-Poisson with mean 1, its spread weighed over a grid (half-normal 0.5): the
order of the table, and the chance that a crew is more than 1.25 × as bad.

**Practice.** The effect of each practice comes from the hazard model with a term of its own for every crew, so no crew
excuses itself; a part is the crew's habit against the other crews' share, times that effect. An association in your own
jobs, not a trial.

**Over time.** Risk-adjusted CUSUM in continuous time (Steiner et al. 2000; Biswas and Kalbfleisch 2008), month by
month, looking for twice the expected; the limit is simulated from the crew's own expected counts, and after an alarm
the run starts again. It takes these counts as known and leak-backs as independent: where the expected may be off by a
tenth, or many jobs have several cracks that leak together, false alarms come up to twice as often as is said.

**Limits.** It knows what was written down. Crews swap people, and a hard customer calls more: talk before you act.
"""


def build(records: Records, said: Said) -> Page:
    """All crews, or one crew's sheet where the address names one."""
    months = int(MONTHS.of(said))
    found = judging.crews(records, months=months)
    opened = said.get("crew_id", "")
    if opened and opened in found.rows["crew_id"].to_list():
        page = crew.build(records, found, opened)
        parts = (crew.printed(records, found, opened), *page.parts)
        return replace(page, parts=parts, choices=(MONTHS,), worked_out=WORKED_OUT)
    unknown = (Words(f"No {crew_said(opened)}."),) if opened else ()
    page = judged(found, drawn=True)
    work = (crew_work.by_crew(records, found),) if found.rows.height else ()
    return replace(page, parts=(*unknown, *page.parts, *work), choices=(MONTHS,))


def judged(found: Crews, *, drawn: bool = False) -> Page:
    """The judgement of every crew: what ``leakback crews`` prints; ``drawn`` with its pictures."""
    wanting = "" if found.judged else words.sentence(found.said)
    if found.rows.is_empty():
        wanting = "Load finished jobs with their crews."
    return Page(
        answer=sentences.opening(found.rows, found.said) if found.judged else _too_little(found),
        parts=(
            *(_funnel(found) if drawn else ()),
            *((table(found),) if found.rows.height else ()),
            *(Words(said) for said in _said(found) if said),
            *_practices(found),
            *_over_time(found, drawn=drawn),
        ),
        worked_out=WORKED_OUT,
        wanting=wanting,
    )


def table(found: Crews) -> Table:
    """Every crew, the highest shrunken ratio first; its code opens its sheet."""
    columns = (
        Column("crew_id", "crew", link=PATH),
        Column("cracks", "cracks", kind="number"),
        Column("observed", "seen", kind="number", help=f"leak-backs within {found.months} months of the repair"),
        Column("expected", "expected", kind="number", digits=1, help="of its cracks, by the other crews' work"),
        Column("ratio", "seen over expected", kind="number", unit="×", low="low", high="high", digits=1),
        Column(
            "after_practice",
            "after practice",
            kind="number",
            unit="×",
            low="after_practice_low",
            high="after_practice_high",
            digits=1,
            help="the same once its port spacing, drying, water test and cleaning are taken into account",
        ),
        *_without(found.rows),
        Column("verdict", "verdict", help="more or fewer than its cracks and chance explain"),
    )
    verdict = (
        pl.when(pl.col("signal") == "high")
        .then(pl.lit("more"))
        .when(pl.col("signal") == "low")
        .then(pl.lit("fewer"))
        .when(sentences.not_held())
        .then(pl.lit("cannot be told"))
        .when(pl.col("more_cracks_needed").is_null())
        .then(pl.lit("chance"))
        .otherwise(pl.lit("too few"))
    )
    rows = found.rows.with_columns(verdict=verdict)
    shown = columns if found.judged else columns[:3]
    return Table(shown, rows, title="Crews", note=words.intervals() if found.judged else "")


def _without(rows: pl.DataFrame) -> tuple[Column, ...]:
    """The ratio without the crews that have more among the others; no column where there is none to tell."""
    told = rows["ratio_without"]
    if told.null_count() == len(told):
        return ()
    ends = {"low": "ratio_without_low", "high": "ratio_without_high"}
    label = f"without {words.listed(rows.filter(pl.col('signal') == 'high')['crew_id'].sort().to_list())}"
    said = "seen over expected where the crews that have more are not among the others"
    return (Column("ratio_without", label, kind="number", unit="×", digits=1, help=said, **ends),)


def _too_little(found: Crews) -> str:
    return "Too little to judge any crew yet." if found.rows.height else sentences.NONE_YET


def _funnel(found: Crews) -> tuple[Part, ...]:
    if found.judged is None:
        return ()
    profile = found.judged.profile
    highest = profile.rows["expected"].max()
    lines = profile.lines(float(highest) * 1.1) if isinstance(highest, float) and highest > 0 else None
    plot = funnel(found.rows, lines) if lines is not None else None
    if plot is None:
        return ()
    note = (
        "By chance alone 95 % of crews lie inside the dashed limits and 99.8 % inside the solid ones; 99.8 % inside "
        "the dotted ones where crews differ anyway as much as these do."
    )
    return (Chart((plot,), sentences.opening(found.rows, found.said), note, picks=("crew_id",)),)


def _said(found: Crews) -> list[str]:
    """What the figures are held against, who has fewer only beside a bad crew, and what those too small would take."""
    if found.judged is None:
        return []
    untold = sentences.not_held() | pl.col("more_cracks_needed").is_not_null() | pl.col("low_beside_high")
    rows = found.rows.filter((pl.col("signal") == "none") & untold)
    thin = [f"{row['crew_id']}: {row['note']}." for row in rows.to_dicts()]
    lost = [f"Cracks without a crew, in no row: {found.without_crew}."] if found.without_crew else []
    return [crew.FAIR, " ".join(thin), *lost]


def _practices(found: Crews) -> tuple[Section, ...]:
    """What carries the difference of each crew that stands out."""
    if found.judged is None:
        return ()
    said = sentences.practices(found.rows, found.judged.practices.rows)
    return tuple(
        Section(
            f"What carries the difference of {row['crew_id']}",
            (
                Reasons(
                    "Its practices", tuple(map(ReasonLine, said.filter(pl.col("crew_id") == row["crew_id"])["says"]))
                ),
                Words(sentences.before_and_after(row)),
            ),
        )
        for row in found.rows.filter(pl.col("signal") != "none").to_dicts()
    )


def _over_time(found: Crews, *, drawn: bool) -> tuple[Section, ...]:
    """Every crew's run, in the table's order."""
    if found.judged is None:
        return ()
    order = {crew_id: place for place, crew_id in enumerate(found.rows["crew_id"])}
    runs = found.judged.runs.sort(pl.col("crew_id").replace_strict(order, return_dtype=pl.Int64), "month")
    alarms = runs.filter("alarm").group_by("crew_id", maintain_order=True).agg("month").to_dicts()
    said = [sentences.ran_past(row["crew_id"], row["month"]) for row in alarms]
    text = Words(" ".join([*(said or ["No crew's run has passed its limit."]), sentences.false_alarms(runs)]))
    return (Section("Over time", (text, *(_drawn_runs(runs) if drawn else ()))),)


def _drawn_runs(runs: pl.DataFrame) -> tuple[Part, ...]:
    """The runs that came half-way to their limit; the others are said in a line."""
    rose = (pl.col("height") >= pl.col("limit") / 2).any().over("crew_id")
    some, flat = runs.filter(rose), runs.filter(~rose)["crew_id"].n_unique()
    rest = f"{words.counted(flat, 'other run', 'other runs')} never came half-way to the limit." if flat else ""
    plots = crew_runs(some)
    if not plots:
        return (Words(rest, tone="muted"),)
    return (Chart(plots, "Runs of leak-backs against expected, each with its limit.", rest),)
