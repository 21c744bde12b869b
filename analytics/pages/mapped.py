"""A proposed column map: each guess with how sure it is and why, and the first rows before and after."""

import shlex
from collections.abc import Sequence

import polars as pl

from analytics.answers.mapping import Proposed
from analytics.contract import words
from analytics.intake.maps.column_map import Origin
from analytics.intake.maps.number_clues import spelled
from analytics.intake.maps.proposing import LEAST_SURE, Guess
from analytics.pages.page import Column, Page, Part, Section, Table, Words

NOTHING = "None of its columns is like one of ours: name the file after one of the tables, or write a map by hand."

NO_CREW = (
    "No column says which crew did a job, and a done job needs one: name it in the map, or write "
    'crew_id = { constant = "C1" } where one crew did them all.'
)
LATER = "Of the later rows, the first cell of each column that cannot be read as it stands is here too."


def build(proposed: Proposed, written: str = "", given: Sequence[str] = ()) -> Page:
    """The guesses, the first rows, and what is left to do; ``written`` is the map's file, where there is one.

    ``given`` are the files as they were named.
    """
    guesses = proposed.guesses
    files = words.counted(len(proposed.files), "file") if len(proposed.files) > 1 else proposed.files[0]
    if guesses.is_empty():
        return Page(answer=f"{files} is like none of our tables.", wanting=NOTHING)
    unsure = guesses.filter(pl.col("confidence") < LEAST_SURE).height
    doubt = f", {unsure} of them too unsure to stand in it" if unsure else ""
    left = words.counted(len(proposed.left), "column is", "columns are")
    return Page(
        answer=f"A column map for {files}: {words.counted(guesses.height, 'column')} found{doubt}; {left} left out. "
        "Nothing is loaded.",
        parts=(
            *guessed(proposed),
            *first_rows(proposed.preview),
            *(Words(line) for line in (*to_do(proposed), _next(written, given))),
        ),
    )


def guessed(proposed: Proposed) -> tuple[Part, ...]:
    """The guesses, what must be said before it is taken, and what is filled down."""
    return (
        _guess_table(proposed),
        *(
            Words(line)
            for lines in (_unsaid, _to_look_at, _crewless, _unsure, _filled_down)
            for line in lines(proposed)
        ),
    )


def _unsaid(proposed: Proposed) -> list[str]:
    return [
        f"Not taken until the map says how: {guess.column} ({guess.table}) from {guess.origin.header}: {guess.unsaid}."
        for proposal in proposed.proposals
        for guess in proposal.guesses
        if guess.unsaid
    ]


def _to_look_at(proposed: Proposed) -> list[str]:
    """The days that are taken in one of two orders because another column of their sheet is in it."""
    return [
        f"Look at {guess.origin.header}: none of its days is over 12, so it {guess.taken_so}. Hold one of them to your "
        "own records; if it is the other order, say so in the map."
        for proposal in proposed.proposals
        for guess in proposal.guesses
        if guess.taken_so and guess.is_made
    ]


def _crewless(proposed: Proposed) -> list[str]:
    """A sheet of done jobs that names no crew: every such job would be rejected."""
    told = [
        {guess.column for guess in proposal.guesses if guess.table == "jobs" and guess.is_made}
        for proposal in proposed.proposals
        if proposal.has_rows
    ]
    none = any("done_on" in columns and "crew_id" not in columns for columns in told)
    return [NO_CREW] if none else []


def _unsure(proposed: Proposed) -> list[str]:
    """The headers that no line in force of the map names, because the guess of each is too unsure."""
    guesses = [guess for proposal in proposed.proposals for guess in proposal.guesses if guess.origin.headers]
    made = {name for guess in guesses if guess.is_made for name in guess.origin.headers}
    unsure = dict.fromkeys(
        name for guess in guesses if not guess.is_made and not guess.unsaid for name in guess.origin.headers
    )
    left = ", ".join(name for name in unsure if name not in made)
    return [f"Too unsure to be taken, and dropped unless you put them into the map: {left}."] if left else []


def _filled_down(proposed: Proposed) -> list[str]:
    several = len(proposed.proposals) > 1
    return [
        f"Filled down{f' in {proposal.name}' if several else ''}, where blank, from the nearest row above: "
        f"{', '.join(proposal.fill_down)}. A row that only sums up those above it is left as it is."
        for proposal in proposed.proposals
        if proposal.fill_down
    ]


def _guess_table(proposed: Proposed) -> Table:
    """Our column, where it comes from, how sure, why, and what was seen."""
    columns = (
        Column("column", "our column", under="table"),
        Column("said", "comes from"),
        Column(
            "confidence", "how sure", kind="number", digits=2, help=f"from 0 to 1; under {LEAST_SURE:g} it is not made"
        ),
        Column("reason", "why"),
        Column("saw", "saw"),
    )
    said = [_taken(guess) for proposal in proposed.proposals for guess in proposal.guesses]
    return Table(columns, proposed.guesses.with_columns(said=pl.Series(said, dtype=pl.String)), title="Guesses")


def _taken(guess: Guess) -> str:
    return origin_words(guess.origin) if guess.is_made else f"not taken: {origin_words(guess.origin)}?"


def origin_words(origin: Origin) -> str:
    """Where a column comes from, in words: ``Length, in ft``."""
    source = origin.header or origin.template or f"{origin.constant} in every row"
    unit = f"in {spelled(origin.unit)}" if origin.unit else ""
    said = [source, unit, f"as {origin.date_format}" if origin.date_format else ""]
    meant = "; ".join(f"{theirs} is {words.word(ours) or 'blank'}" for theirs, ours in origin.words.items())
    return ", ".join(part for part in said if part) + (f" ({meant})" if meant else "")


def preview_table(rows: pl.DataFrame) -> Table:
    """Each cell of the first rows, before and after, and cells of later rows that cannot be read."""
    fault = (Column("fault", "why not"),) if rows["fault"].is_not_null().any() else ()
    columns = (
        Column("table", "table"),
        Column("row", "row", kind="number"),
        Column("column", "our column"),
        Column("before", "before"),
        Column("after", "after"),
        *fault,
    )
    return Table(columns, rows, title="First rows, before and after", note=LATER if fault else "")


def first_rows(preview: pl.DataFrame) -> tuple[Part, ...]:
    """The first rows under their heading, where there are any."""
    return (Section("First rows, before and after", (preview_table(preview),)),) if preview.height else ()


def to_do(proposed: Proposed) -> list[str]:
    """What is left out, and what is left to do before the map can be used."""
    lines = [f"Left out, and never kept: {', '.join(proposed.left)}."] if proposed.left else []
    if proposed.missing:
        lines.append(f"Must be there and was not found: {', '.join(proposed.missing)}.")
    return [*lines, f"As it stands it cannot be used: {proposed.fault}."] if proposed.fault else lines


def _next(written: str, given: Sequence[str]) -> str:
    """What comes then, as it can be typed: the files as they were ``given``."""
    if written:
        return f"Read {written} through, mend it, then: leakback load {shlex.join([*given, '--map', written])}"
    return "Write it to a file with --write map.toml, read it through, and load with --map map.toml."
