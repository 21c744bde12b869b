"""Crews asked for by code or name: none that is not known passes for an average one."""

from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers.crew_asked import crew_asked
from analytics.answers.quote_file import from_file
from analytics.answers.records import Records
from analytics.answers.standing import NOBODY, asking
from analytics.cli import run
from analytics.errors import LeakbackError
from analytics.intake import private_path
from tests.histories import CRACK, DONE_JOB

PLANNED = {"job_id": "J-2", "crew_id": "C09", "status": "planned", "planned_on": "2026-11-20"}


@pytest.fixture
def records(records_of: Callable[..., Records]) -> Records:
    """Mike's crew has finished work, C09 only planned work."""
    cracks = [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}]
    return records_of({"jobs": [{**DONE_JOB, "crew_id": "Mike"}, PLANNED], "cracks": cracks})


@pytest.fixture
def code(records: Records) -> str:
    return str(records.ask("done_jobs")["crew_id"][0])


def test_a_crew_is_known_by_its_code_and_by_its_name(records: Records, code: str) -> None:
    assert crew_asked(records, "C09") == crew_asked(records, " C09 ") == "C09"
    assert crew_asked(records, code) == code
    assert crew_asked(records, "Mike") == crew_asked(records, " mike") == code


@pytest.mark.parametrize("typed", ["nobody", "C08", "Mick", ""])
def test_any_other_is_refused_with_those_known(records: Records, code: str, typed: str) -> None:
    with pytest.raises(LeakbackError, match="unknown crew") as raised:
        crew_asked(records, typed)
    assert code in str(raised.value) or "did you mean C09" in str(raised.value)
    assert "\n" not in str(raised.value)
    kept = private_path(records.store.path).read_text(encoding="utf-8")
    assert '"Mike"' in kept
    assert not typed or f'"{typed}"' not in kept


def test_without_the_names_crews_go_by_their_codes(records: Records, code: str) -> None:
    refusal = f"unknown crew 'Mike': crews go by their codes here; it is one of C09, {code}."
    with asking(NOBODY), pytest.raises(LeakbackError) as raised:
        crew_asked(records, "Mike")
    assert str(raised.value) == refusal
    private_path(records.store.path).unlink()
    with pytest.raises(LeakbackError) as raised:
        crew_asked(records, "Mike")
    assert str(raised.value) == refusal
    assert crew_asked(records, code) == code


def test_the_command_refuses_it_and_takes_a_crew_without_finished_work(
    records: Records, capsys: pytest.CaptureFixture[str]
) -> None:
    crack = ("quote", "--length-m", "2", "--width-mm", "0.5", "--store", str(records.store.path), "--crew")
    assert run([*crack, "nobody"]) == 2
    assert "unknown crew 'nobody': it is one of C09, crew-" in capsys.readouterr().err
    assert run([*crack, ""]) == 2
    assert run([*crack, "C09"]) == run([*crack, "Mike"]) == 0


def test_a_row_of_a_file_with_an_unknown_crew_is_not_quoted(records: Records, code: str, tmp_path: Path) -> None:
    path = tmp_path / "cracks.csv"
    path.write_text("length_m,width_mm,crew_id\n2,0.4,Mike\n2,0.4,nobody\n2,0.4,\n2,0.4,C09\n", encoding="utf-8")
    asked = from_file(path, lambda typed: crew_asked(records, typed))
    assert asked.cracks["crew_id"].to_list() == [code, None, "C09"]
    [reject] = asked.rejects
    assert (reject["row"], reject["column"]) == (3, "crew_id")
    assert "unknown crew 'nobody'" in reject["reason"]
