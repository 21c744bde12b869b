"""The house rules that no linter holds: where things lie, how long they are, what they may not say."""

import re
import subprocess
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "analytics", "app.py", "data", "tests", "shared",
}  # fmt: skip
LONGEST_FILE = 300
VAGUE_NAMES = {"utils", "helpers", "common", "core", "base", "manager", "misc"}


def tracked() -> list[str]:
    listing = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listing.returncode != 0:  # an unpacked source archive has no history
        return [str(path.relative_to(ROOT)) for path in ROOT.rglob("*") if path.is_file() and ".venv" not in path.parts]
    return listing.stdout.split("\n")[:-1]


def sources() -> list[Path]:
    return [ROOT / name for name in tracked() if name.endswith(".py")]


def test_the_top_level_holds_only_what_it_should() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_no_lock_file_is_kept() -> None:
    assert not [name for name in tracked() if re.search(r"\.lock$|(^|/)pylock.*\.toml$|package-lock\.json$", name)]


def test_files_stay_short_enough_to_read_whole() -> None:
    long = {str(path): lines for path in sources() if (lines := len(path.read_text().splitlines())) > LONGEST_FILE}
    assert not long


def test_modules_are_named_for_what_they_are() -> None:
    assert not [path for path in sources() if path.stem in VAGUE_NAMES]


def test_pins_are_names_and_versions_only() -> None:
    lines = (ROOT / ".ci" / "constraints.txt").read_text().splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    assert pins
    assert not [pin for pin in pins if not re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.+!-]+", pin)]


def test_every_dependency_is_pinned_at_or_above_its_lower_bound() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = project["dependencies"] + [d for extra in project["optional-dependencies"].values() for d in extra]
    lines = (ROOT / ".ci" / "constraints.txt").read_text().splitlines()
    pinned = {name.lower(): version for name, _, version in (line.partition("==") for line in lines)}
    for requirement in wanted:
        name, bound = re.split(r">=", requirement)
        have = [int(part) for part in re.findall(r"\d+", pinned[name.split("[")[0].lower()])]
        assert have >= [int(part) for part in bound.split(".")], requirement


NAMED_BY_ALL = {"dev", "media", "proc", "sys", "usr"}
"""Folders of every such machine, and where a stick is plugged in; any other says whose it was."""


def test_nothing_says_where_it_was_made() -> None:
    folder = re.compile(r"(?:^|[^\w.])/([a-z][a-z0-9]*)[/_]", re.MULTILINE)
    index = re.compile(r"index[-]url")
    found = [
        name
        for name in tracked()
        if not name.endswith((".png", ".csv")) and (ROOT / name).is_file()
        for text in ((ROOT / name).read_text(encoding="utf-8", errors="replace"),)
        if index.search(text) or not NAMED_BY_ALL.issuperset(folder.findall(text))
    ]
    assert not found


def test_the_level_of_an_interval_is_declared_in_the_contract_alone() -> None:
    packages = [path for path in sources() if "analytics" in path.parts and "contract" not in path.parts]
    declares = re.compile(r"\blevel(?:: float = |_option\()0\.\d|^(?:\w+, )*\w*LEVEL = (?:\d+, )*0\.\d", re.MULTILINE)
    assert [path.name for path in packages if declares.search(path.read_text())] == []
