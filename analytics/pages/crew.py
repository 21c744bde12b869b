"""One crew's sheet: where it stands, how it works beside the others, what it is given, and what to talk about."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

import polars as pl

from analytics.answers import crew_sentences as sentences
from analytics.answers.crew_held import HANDED
from analytics.answers.crews import Crews, Judged, as_worked
from analytics.answers.records import Records
from analytics.charts.runs import crew_runs
from analytics.contract import words
from analytics.contract.descriptions import crew_said
from analytics.crews import PRACTICES, habits
from analytics.pages import crew_work, papers
from analytics.pages.page import (
    Chart,
    Column,
    Document,
    Downloads,
    Figure,
    Figures,
    Page,
    Part,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.risk import CAUTION

MOST_GIVEN = 6
FAIR = (
    "Each crew is held against the other crews' work on cracks like the ones it was given: the same water, width, "
    "season and wall. The yardstick is the company's average, not perfection; a crew that stands out moves that "
    "average too, so the others read somewhat on the other side of 1. Fewer is said of a crew only where it holds too "
    "without the crews that have more."
)
Row = Mapping[str, Any]


def printed(records: Records, found: Crews, crew_id: str) -> Downloads:
    """The crew's sheet to print, to talk it over with the crew."""
    name = partial(papers.file_name, name=crew_id, ending="pdf")
    made = partial(on_paper, records, found, crew_id)
    return Downloads(papers.on_either("Print this crew's sheet", made, name("crew"), name("crew-letter")))


def on_paper(records: Records, found: Crews, crew_id: str) -> Document:
    """The sheet of crew ``crew_id`` for paper."""
    page = build(records, found, crew_id, on_paper=True)
    judged = replace(page, parts=(Words(FAIR, tone="muted"), *page.parts)) if found.judged else page
    return Document(f"{crew_said(crew_id, 'Crew')}, its sheet", (judged,), papers.about(records), records.as_of)


def build(records: Records, found: Crews, crew_id: str, *, on_paper: bool = False) -> Page:
    """The sheet of crew ``crew_id``; ``on_paper`` it lists more of its leak-backs."""
    row = found.rows.row(by_predicate=pl.col("crew_id") == crew_id, named=True)
    leaked = crew_work.leaked(records, found, crew_id, on_paper=on_paper)
    if found.judged is None or row["ratio"] is None:
        return Page(
            answer=f"{crew_said(crew_id, 'Crew')}: {words.counted(row['observed'], 'leak-back')} "
            f"of {words.counted(row['cracks'], 'crack')} within {found.months} months; {row['note']}.",
            parts=(crew_work.of_crew(records, found, crew_id), *leaked),
            wanting=words.sentence(found.said),
        )
    return Page(
        answer=f"{crew_said(crew_id, 'Crew')}: {sentences.against(row, 'leak-back')} within {found.months} months, "
        f"of {words.counted(row['cracks'], 'crack')}. {words.sentence(row['note'])}",
        parts=(
            _figures(row),
            *_talk(found, found.judged, row),
            _practice(found.judged, crew_id),
            _given(found.judged, crew_id),
            *_run(found.judged, crew_id),
            crew_work.of_crew(records, found, crew_id),
            *leaked,
        ),
    )


def _figures(row: Row) -> Figures:
    chance = words.chance(row["chance_over"])
    return Figures(
        (
            Figure("seen over expected", row["ratio"], row["low"], row["high"], unit="×", digits=2),
            Figure(
                "held back towards the others",
                row["shrunken"],
                row["shrunken_low"],
                row["shrunken_high"],
                unit="×",
                digits=2,
                note=f"more than 1.25 × as bad with a chance of {chance}",
            ),
            Figure(
                "with its practice taken into account",
                row["after_practice"],
                row["after_practice_low"],
                row["after_practice_high"],
                unit="×",
                digits=2,
            ),
            Figure(
                "chance alone stays within",
                "",
                row["limit_low_998"],
                row["limit_high_998"],
                kind="range",
                unit="×",
                digits=2,
                note="99.8 %",
            ),
            Figure(
                "and where crews differ as these do",
                "",
                row["wide_low_998"],
                row["wide_high_998"],
                kind="range",
                unit="×",
                digits=2,
                note="99.8 %",
            ),
        )
    )


def _talk(found: Crews, judged: Judged, row: Row) -> tuple[Part, ...]:
    """What to talk about with the crew: practices that carry something, what is left, since when."""
    said = sentences.practices(found.rows, judged.practices.rows).filter(pl.col("crew_id") == row["crew_id"])
    advice = {practice.feature: practice.advice for practice in PRACTICES}
    lines = [
        ReasonLine(line["says"], do=advice[line["feature"]])
        for line in said.filter(pl.col("standing") != "alike").to_dicts()
    ]
    if row["signal"] == "high":
        lines.append(
            ReasonLine(sentences.before_and_after(row), do="Watch a job of theirs from the lowest port to the last.")
        )
    if row["signal"] == "low":
        lines.append(ReasonLine(sentences.before_and_after(row), do="Ask what they do that the others could."))
    if row["more_cracks_needed"] is not None:
        return (Words(sentences.size_needed(row)),)
    if not lines:
        return (Words("Nothing in the records to talk about: it works as the others do."),)
    return (Reasons("What to talk about", tuple(lines)), Words(f"Each figure is {CAUTION}.", tone="muted"))


def _practice(judged: Judged, crew_id: str) -> Section:
    leaves = {practice.feature: practice.leaves for practice in PRACTICES}
    rows = judged.practices.rows.filter(pl.col("crew_id") == crew_id)
    shown = rows.with_columns(pl.col("feature").replace_strict(leaves, return_dtype=pl.String))
    return Section("How it works, beside the others", (_habits(shown, "what it does"),))


def _given(judged: Judged, crew_id: str) -> Section:
    """The cracks it is given: what sets them apart from the others' the most."""
    handed = {feature.name: feature.words for feature in HANDED if feature.yes_no}
    found = habits(as_worked(judged.cracks), judged.effects, dict.fromkeys(handed, True))
    own = found.rows.filter(pl.col("crew_id") == crew_id)
    apart = own.sort(pl.col("part").log().abs(), descending=True).head(MOST_GIVEN)
    shown = apart.with_columns(pl.col("feature").replace_strict(handed, return_dtype=pl.String))
    whole = found.together.row(by_predicate=pl.col("crew_id") == crew_id, named=True)
    part = words.estimate(whole["part"], whole["part_low"], whole["part_high"], 2, "×")
    said = (
        f"By water, movement, direction, access and season its cracks make {part} the leak-backs of the others' cracks."
    )
    return Section("The cracks it is given", (Words(said), _habits(shown, "the crack")))


def _habits(rows: pl.DataFrame, label: str) -> Table:
    columns = (
        Column("feature", label),
        Column("share", "its cracks", kind="percent"),
        Column("others_share", "the others'", kind="percent"),
        Column(
            "effect", "leaks back", kind="number", unit="× as often", low="effect_low", high="effect_high", digits=1
        ),
        Column("part", "makes of its leak-backs", kind="number", unit="×", low="part_low", high="part_high", digits=2),
    )
    return Table(columns, rows, title=label)


def _run(judged: Judged, crew_id: str) -> tuple[Part, ...]:
    run = judged.runs.filter(pl.col("crew_id") == crew_id)
    plots = crew_runs(run)
    if not plots:
        return ()
    said = sentences.ran_past(crew_id, run.filter("alarm")["month"].to_list())
    text = f"{said} {sentences.false_alarms(judged.runs)}"
    return (Section("Over time", (Words(text), Chart(plots, said))),)
