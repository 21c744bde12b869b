"""Every command but those of the dashboard answers programs too, also if it writes files or changes who may come in."""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from analytics.cli.commands import leakback
from tests.cli.calling import Call

OPEN_THE_DASHBOARD = {"dashboard", "demo"}
README = Path(__file__).parents[2] / "README.md"


def commands(group: click.Group, before: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, (*before, name))
        else:
            yield " ".join((*before, name)), command


def test_every_command_that_does_not_open_the_dashboard_answers_programs_too() -> None:
    without = {name for name, each in commands(leakback) if not any("--format" in told.opts for told in each.params)}
    assert without == OPEN_THE_DASHBOARD
    named = " and ".join(f"`{name}`" for name in sorted(without))
    assert f"Every command but {named} takes `--format text|json|csv`" in README.read_text(encoding="utf-8")


def test_the_files_of_a_template_are_named_to_programs(call: Call, tmp_path: Path) -> None:
    code, out, err = call("template", str(tmp_path / "blank"), "--format", "json", store=None)
    assert (code, err) == (0, "")
    files = [row["file"] for row in json.loads(out)["rows"]]
    assert sorted(files) == sorted(str(path) for path in (tmp_path / "blank").iterdir())
    code, out, _ = call("template", str(tmp_path / "again"), "--format", "csv", store=None)
    assert (code, out.splitlines()[0], len(out.splitlines())) == (0, "file", 1 + len(files))


def test_who_has_which_role_is_answered_by_who_changes_it(call: Call, tmp_path: Path) -> None:
    store = tmp_path / "shop.duckdb"
    code, out, err = call("people", "set", "anna@example.org", "owner", "--format", "json", store=store)
    assert (code, err) == (0, "")
    assert out == call("people", "list", "--format", "json", store=store)[1]
    assert [row["role"] for row in json.loads(out)["rows"]] == ["owner"]
    code, out, _ = call("people", "remove", "anna@example.org", "--format", "json", store=store)
    assert (code, json.loads(out)) == (0, {"rows": []})
