"""The policy on the command line: what is in force, and setting it as the page does."""

import csv
import io
from pathlib import Path

import pytest

from analytics.answers.loading import begin
from analytics.answers.records import policy_path
from tests.cli.calling import Call, answer


@pytest.fixture
def mine(store_path: Path) -> Path:
    """An empty store: the policy may be set before anything is loaded."""
    begin(store_path)
    return store_path


def values(call: Call, mine: Path) -> dict[str, object]:
    code, out, _ = call("policy", "--format", "csv", store=mine)
    assert code == 0
    return {row["name"]: row["value"] for row in csv.DictReader(io.StringIO(out))}


def test_it_tells_every_setting(call: Call) -> None:
    found = answer(call, "policy")
    rows = {row["name"]: row for row in found["rows"]}
    assert (rows["margin"]["value"], rows["margin"]["published"], rows["margin"]["own"]) == ("0.38", None, True)
    assert (rows["wide_mm"]["value"], rows["wide_mm"]["unit"], rows["wide_mm"]["most"]) == (5.0, "mm", 15)
    assert found["currency"] == "USD"
    code, text, _ = call("policy")
    assert code == 0
    assert "Thresholds" in text
    assert "BRE Digest 251" in text


def test_it_sets_and_takes_out_all_of_it_or_nothing(call: Call, mine: Path) -> None:
    code, out, _ = call("policy", "--set", "margin", "0.35", "--set", "thresholds.wide_mm", "6", store=mine)
    assert code == 0
    assert " ".join(out.split()).startswith(
        "Changed: width for an engineer 6 mm (was 5 mm); margin 35 % (was not set)."
    )
    code, _, _ = call("policy", "--unset", "margin", "--set", "display", "us", store=mine)
    assert code == 0
    assert (values(call, mine)["margin"], values(call, mine)["display"], values(call, mine)["wide_mm"]) == (
        "",
        "us",
        "6.0",
    )


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        (("--set", "margin", "35"), "margin: “35” must be a share from 0 to 0.95"),
        (("--set", "margins", "0.3"), "unknown setting 'margins': did you mean margin?"),
        (("--set", "margin", "0.3", "--unset", "prices.margin"), "margin is named twice"),
        (("--set", "set_up_minutes", "9", "--set", "wide_mm", "99"), "must be a number from 0.5 to 15 mm"),
        (("--unset", "margin"), "all of it is so already"),
    ],
)
def test_what_may_not_be_is_one_line_and_changes_nothing(
    call: Call, mine: Path, words: tuple[str, ...], wrong: str
) -> None:
    code, out, err = call("policy", *words, store=mine)
    assert (code, out) == (2, "")
    assert wrong in err
    assert err.count("\n") == 1
    assert not policy_path(mine).exists()


def test_a_file_that_cannot_be_read_is_said_and_left(call: Call, mine: Path) -> None:
    policy_path(mine).write_text("[prices]\nmargin = 35\n", encoding="utf-8")
    for words in ((), ("--set", "margin", "0.35")):
        code, _, err = call("policy", *words, store=mine)
        assert code == 2
        assert "store.policy.toml: prices.margin = 35 does not fit" in err
    assert policy_path(mine).read_text(encoding="utf-8") == "[prices]\nmargin = 35\n"
