"""A first column map of a business's own sheet: what each header is taken for, and what is left to be said."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import mapping
from analytics.cli import run
from analytics.intake import Source
from analytics.intake.maps.proposing import Guess, SheetProposal, propose
from analytics.intake.sheet import Sheet
from analytics.pages import mapped
from analytics.pages.page import Words
from tests.intake.brought import brought, clean, csv_bytes

DAYS = [f"2026-09-{day:02}" for day in range(11, 17)]


def sheet(columns: Mapping[str, Sequence[str]], name: str = "september") -> Sheet:
    cells = pl.DataFrame({header: list(texts) for header, texts in columns.items()})
    numbers = pl.Series(range(2, cells.height + 2), dtype=pl.Int64)
    return Sheet((name,), f"{name}.csv", "0" * 64, cells.cast(pl.String), numbers)


def own(**columns: Sequence[str]) -> dict[str, Sequence[str]]:
    """Six jobs of one crack each; further columns by header, ``_`` for a space."""
    numbers = [str(5000 + place) for place in range(6)]
    given = {name.replace("_", " "): texts for name, texts in columns.items()}
    return {"Job #": numbers, "Date done": DAYS, "Crew": ["Mike"] * 6, "Type of resin": ["Epoxy"] * 6, **given}


def csv_of(columns: Mapping[str, Sequence[str]]) -> bytes:
    return csv_bytes([list(columns), *zip(*columns.values(), strict=True)])


def taken(proposal: SheetProposal) -> dict[str, Guess]:
    """The guesses that stand in the map, by our column; a crack's job apart."""
    return {f"{guess.table}.{guess.column}": guess for guess in proposal.guesses if guess.is_made}


def header_of(proposal: SheetProposal, column: str) -> str | None:
    return guess.origin.header if (guess := taken(proposal).get(column)) else None


MEASURING = ["Crack length", "Crack width", "Crack depth", "Crack size", "Max crack width", "Cracks", "# of cracks"]


@pytest.mark.parametrize("header", MEASURING)
def test_a_measurement_or_a_count_is_never_a_cracks_number(header: str) -> None:
    found = propose(sheet(own() | {header: ["8", "8.25", "8.5", "9", "10", "11"], "Hours": ["2"] * 6}))
    assert taken(found)["cracks.crack_id"].origin.template == "{Job #}-{#}"


def test_a_length_in_no_unit_is_the_length() -> None:
    found = propose(sheet(own(Crack_length=["8", "8.25", "8.5", "9", "10", "11"], Hours=["2"] * 6)))
    assert [guess.column for guess in found.guesses if guess.origin.header == "Crack length"] == ["length_m"]


def test_days_and_decimal_numbers_are_no_code_where_the_header_is_only_like_one() -> None:
    for texts in (DAYS, ["8", "8.25", "8.5", "9", "10", "11"], ["8'", "9'", "7'", "6'", "5'", "4'"]):
        found = propose(sheet(own() | {"Crack seen": texts, "Hours": ["2"] * 6}))
        assert header_of(found, "cracks.crack_id") is None


def test_what_does_number_the_cracks_is_taken() -> None:
    for header in ("Crack", "Crack #", "Our crack no", "Crack ref code"):
        found = propose(sheet(own() | {header: [f"{place}.1" for place in range(6)], "Hours": ["2"] * 6}))
        assert header_of(found, "cracks.crack_id") == header


def test_a_header_called_one_thing_word_for_word_is_not_taken_for_what_it_is_like() -> None:
    found = propose(sheet(own(Job_status=["done"] * 6, Hours=["2"] * 6)))
    assert header_of(found, "jobs.status") == "Job status"
    unknown = {"Job status": ["a", "b"], "Date done": DAYS[:2], "Crew": ["Mike"] * 2, "Price": ["1", "2"]}
    found = propose(sheet(unknown))
    assert header_of(found, "jobs.job_id") is None


WRITTEN = {
    "DD MMM YY": ["4 Apr 25", "17 Sept 24", "1 May 25", "9 Jun 25", "10 Jul 25", "11 Aug 25"],
    "DD MMM YYYY": ["4 May 2025", "17 May 2024", "1 May 2025", "9 May 2025", "10 May 2025", "11 May 2025"],
    "DD MMMM YYYY": ["4 April 2025", "17 May 2024", "1 May 2025", "9 June 2025", "10 July 2025", "11 May 2025"],
    "MMMM DD, YYYY": ["April 4, 2025", "May 17, 2024", "May 1, 2025", "June 9, 2025", "July 1, 2025", "May 2, 2025"],
}


@pytest.mark.parametrize("order", WRITTEN)
def test_days_with_a_month_in_letters_are_read(order: str) -> None:
    found = taken(propose(sheet(own(Date_done=WRITTEN[order], Hours=["2"] * 6))))["jobs.done_on"]
    assert (found.origin.date_format, found.confidence) == (order, 1.0)


EITHER = ["02/03/2025", "03/04/2025", "04/05/2025", "05/06/2025", "06/07/2025", "07/08/2025"]
TWINS = ["02/02/2025", "03/03/2025", "04/04/2025", "05/05/2025", "06/06/2025", "07/07/2025"]
UNREAD = [f"the {day}th of April" for day in range(4, 10)]


@pytest.mark.parametrize(("texts", "why"), [(EITHER, "choose one"), (TWINS, "choose one"), (UNREAD, "2026-03-31")])
def test_days_in_doubt_leave_no_job_out_and_the_doubt_is_said(texts: list[str], why: str) -> None:
    cracks = {"Crack length (m)": ["2"] * 6, "Width (mm)": ["0.5"] * 6, "Litres": ["0.4"] * 6, "Hours": ["2"] * 6}
    files = [Source("april.csv", csv_of(own(Date_done=texts) | cracks))]
    proposed = mapping.propose_sources(files)
    assert proposed.proposals[0].tables == ["jobs", "cracks"]
    assert proposed.left == []
    [guess] = [guess for guess in proposed.proposals[0].guesses if guess.column == "done_on"]
    assert (guess.is_made, guess.origin.header) == (False, "Date done")
    said = [part.text for part in mapped.build(proposed).parts if isinstance(part, Words)]
    assert any(text.startswith("Not taken until the map says how: done_on (jobs)") and why in text for text in said)


def test_an_order_that_reads_only_some_days_is_not_said_to_read_all() -> None:
    mixed = ["01/08/2024", "17 Jan 24", "02/25/2024", "03/26/2024", "04/27/2024", "05/28/2024"]
    [guess] = [one for one in propose(sheet(own(Date_done=mixed))).guesses if one.column == "done_on"]
    assert "83% of them" in guess.reason
    assert "all" not in guess.reason


def unit_of(column: str, header: str, **columns: Sequence[str]) -> str | None:
    """The unit that a header is taken in; None where it is not taken."""
    given = {name.replace("_mm_", " (mm)"): texts for name, texts in columns.items()}
    found = taken(propose(sheet(own(**given, Hours=["2"] * 6)))).get(column)
    return found.origin.unit if found and found.origin.header == header else None


SIXES = {size: [size] * 6 for size in ("0.125", "0.25", "0.5", "2", "2.4", "8", "9", "25", "55", "90", "10")}


def test_a_measurement_without_a_unit_is_read_as_the_sheet_measures() -> None:
    inches, metres = {"Wall": SIXES["8"]}, {"Wall_mm_": ["200"] * 6}
    assert unit_of("cracks.width_mm", "Width", Width=SIXES["0.125"], **inches) == "in"
    assert unit_of("cracks.length_m", "Length", Length=SIXES["9"], **inches) == "ft"
    assert unit_of("cracks.length_m", "Length", Length=SIXES["90"], **inches) == "in"
    assert unit_of("cracks.width_mm", "Width", Width=SIXES["0.5"], **metres) in {"", "mm"}
    assert unit_of("cracks.length_m", "Length", Length=SIXES["2.4"], **metres) in {"", "m"}
    assert unit_of("cracks.wall_temp_c", "Temp", Temp=SIXES["25"], **metres) in {"", "°C"}


def test_a_measurement_that_nothing_tells_the_unit_of_is_left_to_be_said() -> None:
    inches, both = {"Wall": SIXES["8"]}, {"Wall": SIXES["8"], "Offset_mm_": ["1"] * 6}
    assert unit_of("cracks.width_mm", "Width", Width=SIXES["0.125"]) is None
    assert unit_of("cracks.length_m", "Length", Length=SIXES["2.4"]) is None
    assert unit_of("cracks.width_mm", "Width", Width=SIXES["0.125"], **both) is None
    assert unit_of("cracks.width_mm", "Width", Width=SIXES["0.25"], **inches) is None
    assert unit_of("cracks.wall_temp_c", "Temp", Temp=SIXES["25"], **inches) is None
    assert unit_of("jobs.warranty_months", "Warranty", Warranty=SIXES["10"]) is None
    found = propose(sheet(own(Width=SIXES["0.125"], Hours=["2"] * 6)))
    [guess] = [guess for guess in found.guesses if guess.column == "width_mm"]
    assert guess.unsaid.startswith("its values are usual in mm and in inches")


def test_a_unit_that_some_cells_write_holds_for_the_others() -> None:
    years = ["10", "10 years", "10", "5 years", "10", "10"]
    assert unit_of("jobs.warranty_months", "Warranty", Warranty=years) == "years"
    assert unit_of("jobs.warranty_months", "Warranty", Warranty=["10 months", *years[1:]]) is None


def test_a_fraction_of_a_litre_is_no_length() -> None:
    assert propose(sheet(own(Resin_used=["1/2"] * 6, Hours=["2"] * 6))).tables


def test_a_file_of_column_names_alone_is_said_to_have_no_rows() -> None:
    files = [Source("jobs of may.csv", csv_bytes([["Job #", "Date done", "Crew", "Length (ft)", "Litres", "Hours"]]))]
    proposed = mapping.propose_sources(files)
    [said] = mapped.to_do(proposed)
    assert said.startswith("As it stands it cannot be used: jobs of may.csv holds column names and no rows")


def test_cracks_that_each_job_counts_anew_are_known_by_both_numbers() -> None:
    done = [["5001", "2026-09-11", "C01"]] * 2 + [["", "", ""]] + [["5002", "2026-09-12", "C01"]] * 2
    cracks = [["1", "2.4"], ["2", "1.4"], ["3", "3.5"], ["1", "3.1"], ["2", "0.9"]]
    rows = [
        ["Job #", "Date done", "Crew", "Crack #", "Length (m)"],
        *(a + b for a, b in zip(done, cracks, strict=True)),
    ]
    files = {
        "work.csv": csv_bytes([[*row, "0.5"] if place else [*row, "Width (mm)"] for place, row in enumerate(rows)])
    }
    text = mapping.propose_sources([Source(*file) for file in files.items()]).text
    batch = brought(files, text)
    made = [("5001-1", 2.4), ("5001-2", 1.4), ("5001-3", 3.5), ("5002-1", 3.1), ("5002-2", 0.9)]
    assert clean(batch, "cracks", "crack_id", "length_m") == made


def test_a_number_used_twice_by_a_slip_still_numbers_the_cracks() -> None:
    found = propose(sheet(own(Crack=["11", "12", "13", "14", "15", "15"], Hours=["2"] * 6)))
    assert header_of(found, "cracks.crack_id") == "Crack"


def test_calls_name_a_crack_by_both_numbers_where_the_cracks_of_their_source_are() -> None:
    cracks = {"Job #": ["1", "1", "2"], "Crack #": ["1", "2", "1"], "Length (m)": ["2"] * 3, "Width (mm)": ["1"] * 3}
    calls = {"Call #": ["C-1", "C-2"], "Job #": ["1", "2"], "Crack #": ["2", ""], "Reported": DAYS[:2]}
    files = [Source("cracks.csv", csv_of(cracks)), Source("callbacks.csv", csv_of(calls))]
    of_calls = taken(mapping.propose_sources(files).proposals[1])["callbacks.crack_id"]
    assert of_calls.origin.template == "{Job #}-{Crack #}"
    alone = taken(mapping.propose_sources(files[1:]).proposals[0])["callbacks.crack_id"]
    assert alone.origin.header == "Crack #"


def test_numbers_of_jobs_that_are_no_codes_are_not_dropped_without_a_reason() -> None:
    columns = own(Length_m=["2"] * 6) | {"Job #": [f"A {place}" for place in range(6)], "Crew": ["Mike and Bob"] * 6}
    proposed = mapping.propose_sources([Source("work.csv", csv_of(columns))])
    [guess] = [each for each in proposed.proposals[0].guesses if (each.table, each.column) == ("jobs", "job_id")]
    assert (guess.is_made, guess.origin.header) == (False, "Job #")
    assert "say keyed = true" in guess.unsaid
    assert header_of(proposed.proposals[0], "jobs.crew_id") == "Crew"
    assert proposed.left == []
    assert '"?"' not in proposed.text, "a guess that is not made is something like it"


def test_a_column_too_unsure_to_be_taken_is_named() -> None:
    cracks = {"Length (m)": ["2"] * 6, "Width (mm)": ["0.5"] * 6, "Litres": ["0.4"] * 6, "Hours": ["2"] * 6}
    content = csv_of(own(Leaking=["yes", "damp", "no"] * 2) | cracks)
    proposed = mapping.propose_sources([Source("work.csv", content)])
    [guess] = [each for each in proposed.proposals[0].guesses if each.column == "water"]
    assert not guess.is_made
    said = [part.text for part in mapped.build(proposed).parts if isinstance(part, Words)]
    assert "Too unsure to be taken, and dropped unless you put them into the map: Leaking." in said


def test_done_jobs_without_a_crew_are_said_to_need_one() -> None:
    """The contract rejects each of them; the map can name one crew for all."""

    def lines(columns: Mapping[str, Sequence[str]]) -> list[str]:
        proposed = mapping.propose_sources([Source("jobs.csv", csv_of(columns))])
        return [part.text for part in mapped.guessed(proposed) if isinstance(part, Words)]

    with_crew = own(Hours=["2"] * 6)
    without = {header: texts for header, texts in with_crew.items() if header != "Crew"}
    assert mapped.NO_CREW in lines(without)
    assert mapped.NO_CREW not in lines(with_crew)
    assert mapped.NO_CREW not in lines({header: texts for header, texts in without.items() if header != "Date done"})


def test_the_words_that_are_not_known_are_named() -> None:
    states = ["done", "complete", "binned", "planned", "done", "done"]
    found = taken(propose(sheet(own(Status=states, Hours=["2"] * 6))))["jobs.status"]
    assert found.reason == "its header; 3 of 4 words are known, not “binned”"
    assert found.origin.words == {"complete": "done"}


@pytest.mark.parametrize("header", ["WO #", "WO", "W.O. No", "Work order #"])
def test_a_work_order_is_a_jobs_number(header: str) -> None:
    columns = {header if name == "Job #" else name: texts for name, texts in own(Hours=["2"] * 6).items()}
    assert header_of(propose(sheet(columns)), "jobs.job_id") == header


def test_what_comes_next_can_be_typed_as_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own_files = tmp_path / "my files"
    own_files.mkdir()
    (own_files / "jobs of 2026.csv").write_bytes(csv_of(own(Hours=["2"] * 6)))
    to = str(tmp_path / "map.toml")
    assert run(["map", str(own_files), "--write", to]) == 0
    said = "".join(capsys.readouterr().out.split())
    assert f"leakbackload'{own_files}'--map{to}".replace(" ", "") in said


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Crew hours", "labour_minutes"),
        ("Man hours", "labour_minutes"),
        ("Linear feet", "length_m"),
        ("Lin ft", "length_m"),
    ],
)
def test_a_name_that_ends_in_its_unit_is_known_by_it(header: str, column: str) -> None:
    found = propose(sheet(own() | {header: ["2.5", "3.25", "1.5", "2", "4.75", "3"]}))
    assert header_of(found, f"cracks.{column}") == header


def test_a_crew_is_no_labour_because_hours_may_follow_it() -> None:
    found = propose(sheet(own(Crew_hours=["2.5", "3.25", "1.5", "2", "4.75", "3"])))
    assert header_of(found, "jobs.crew_id") == "Crew"


@pytest.mark.parametrize(
    ("column", "theirs", "ours"),
    [("Movement", "No movement", "still"), ("What we found", "Leaking again", "leak_back")],
)
def test_plain_words_of_the_trade_are_known(column: str, theirs: str, ours: str) -> None:
    calls = {"Call no": [f"CB-{place}" for place in range(6)], "Job #": ["5001"] * 6, "Call date": DAYS}
    columns = own(Crack_length=["8"] * 6) if ours == "still" else calls
    found = propose(sheet(columns | {column: [theirs] * 6}, "callbacks" if ours == "leak_back" else "september"))
    assert [g.origin.words for g in taken(found).values() if g.origin.header == column] == [{theirs: ours}]


def test_a_spreadsheets_day_is_shown_without_its_midnight() -> None:
    found = propose(sheet(own() | {"Date done": [f"{day} 00:00:00" for day in DAYS]}))
    assert taken(found)["jobs.done_on"].saw == tuple(DAYS[:3])


@pytest.mark.parametrize(("header", "said"), [("Wall temp F", "in °F"), ("Resin used oz", "in fluid ounces")])
def test_a_unit_is_said_as_people_say_it(header: str, said: str) -> None:
    origin = taken(propose(sheet(own() | {header: ["45", "52", "60", "61", "48", "50"]})))
    [words] = [mapped.origin_words(guess.origin) for guess in origin.values() if guess.origin.header == header]
    assert words.endswith(said)
