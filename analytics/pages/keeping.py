"""Backups, checks and the history of the records, as pages."""

from collections.abc import Callable, Mapping
from typing import Any

import polars as pl

from analytics.answers.handing_in import BY_HAND
from analytics.answers.keeping import BackedUp, History, Inspected, Restored, Upgraded
from analytics.contract import words
from analytics.contract.settings import SETTINGS
from analytics.pages import loads
from analytics.pages.page import Column, Page, Table, Words
from analytics.store.checking import Checked
from analytics.store.told import told

SHORT_HASH = 12
PRIVATE_FILE_MISSING = (
    "The private file with the key to the site and crew codes is not here: put it back beside the store before the "
    "next load. Questions are answered without it."
)
KEEP_THE_LAST_HASH = (
    "Every entry is sealed by a hash over the one before it: the command leakback check finds one that was edited or "
    "removed. Whoever could rewrite the whole trail could seal it anew: write the last hash down elsewhere at times."
)


def build_backed_up(done: BackedUp) -> Page:
    """A backup that was made."""
    return Page(
        answer=f"Backed up to {done.backup}, copied and checked: {_holds(done.found)}.",
        parts=(Words("Keep the private file that lies beside it with it: it holds the key to the codes."),),
    )


def build_restored(done: Restored) -> Page:
    """A backup that was put in a store's place."""
    kept = [] if done.kept is None else [f"What was there is kept as {done.kept}."]
    missing = [] if done.has_private_file else [PRIVATE_FILE_MISSING]
    return Page(
        answer=f"{done.store} is restored from {done.backup}: {_holds(done.found)}.",
        parts=tuple(Words(sentence) for sentence in (*kept, *missing)),
    )


def build_upgraded(done: Upgraded) -> Page:
    """A store brought up to this program's version."""
    if done.backup is None:
        return Page(answer=f"{done.store} is of version {done.now} already: nothing was done.")
    return Page(
        answer=f"{done.store} is brought up from version {done.before} to {done.now}.",
        parts=(Words(f"As it was before, it is kept as {done.backup}."),),
    )


def build_check(done: Inspected) -> Page:
    """Whether the store holds what was written to it, and what to do where it does not."""
    faults = () if done.found.is_sound else (_faults(done.found),)
    private = (Words(f"{done.private_file}. Until then nothing more can be loaded."),) if done.private_file else ()
    return Page(answer=_verdict(done), parts=(*faults, *private, _backups(done)))


def build_history(found: History) -> Page:
    """What changed the records, by whom and when, and the files of the loads in force."""
    entries = words.counted(found.trail.height, "entry", "entries")
    return Page(
        answer=f"{entries} in the audit trail; the last hash is {found.head}.",
        parts=(trail(found.trail), loads.table(found.loads)),
        worked_out=KEEP_THE_LAST_HASH,
    )


def trail(entries: pl.DataFrame) -> Table:
    """The audit trail as a table, each entry in words."""
    named = entries["by_whom"].is_not_null().any()
    rows = entries.with_columns(
        pl.col("acted_at").dt.strftime("%Y-%m-%d %H:%M"),
        pl.struct("what", "load", "details").map_elements(_said, return_dtype=pl.String).alias("said"),
        pl.col("hash").str.head(SHORT_HASH),
    )
    columns = [
        Column("number", "entry", kind="number"),
        Column("acted_at", "when", help="universal time; the entries' numbers, not the clock, say what came first"),
        Column("said", "what"),
        *([Column("by_whom", "by")] if named else []),
        Column("hash", "hash", help="the beginning of the entry's hash"),
    ]
    return Table(tuple(columns), rows, title="Audit trail", empty="Nothing was changed yet.")


def _backups(done: Inspected) -> Table:
    rows = pl.DataFrame({"backup": [str(path) for path in done.backups]}, schema={"backup": pl.String})
    return Table((Column("backup", "backup"),), rows, title="Automatic backups", empty="No backup was made yet.")


def _verdict(done: Inspected) -> str:
    if done.found.is_sound:
        return f"{done.store} is sound: {_holds(done.found)}; every sum, key, reference and entry holds."
    count = words.counted(len(done.found.faults), "thing does", "things do")
    do = "put the last sound backup in its place with: leakback restore"
    return f"{done.store} is not sound: {count} not hold. Load nothing more into it; {do} --store {done.store}"


def _faults(found: Checked) -> Table:
    rows = pl.DataFrame(
        {"part": [fault.part for fault in found.faults], "said": [fault.said for fault in found.faults]}
    )
    return Table((Column("part", "part"), Column("said", "what does not hold")), rows, title="What does not hold")


def _holds(found: Checked) -> str:
    loads = words.counted(found.loads, "load")
    rows = ", ".join(_rows(count, name) for name, count in found.rows.items())
    return f"{loads}, {rows}, {words.counted(found.entries, 'audit entry', 'audit entries')}"


def _rows(count: int, table: str) -> str:
    return words.counted(count, table.removesuffix("s"), table)


def _said(entry: Mapping[str, Any]) -> str:
    what = str(entry["what"])
    details = told(what, entry["details"])
    if details is None:
        return f"{what}: what it tells cannot be read"
    say = _SAYINGS.get(what)
    return say(entry["load"], details) if say else what


def _load_said(load: int | None, details: Mapping[str, Any]) -> str:
    tables = details["tables"]
    brought = ", ".join(_rows(t["loaded"], name) for name, t in tables.items() if t["loaded"]) or "no row"
    rejected = sum(table["rejected"] for table in tables.values())
    by_hand = sorted({file for _, file, _ in details["files"] if file.startswith(BY_HAND)})
    named = f" ({', '.join(by_hand)})" if by_hand else ""
    return f"load {load}{named}: {brought} went in" + (f", {words.number(rejected)} rejected" if rejected else "")


def _undo_said(load: int | None, details: Mapping[str, Any]) -> str:
    return f"load {load} taken back: {words.counted(sum(details['rows'].values()), 'row')} left"


def _fit_said(load: int | None, details: Mapping[str, Any]) -> str:
    return f"risk model fitted to the records as of load {load} (model {details['model_sha256'][:SHORT_HASH]})"


def _policy_said(load: int | None, details: Mapping[str, Any]) -> str:
    del load
    sha256, changed = details["sha256"], details.get("changed", [])
    what = f" ({', '.join(SETTINGS[name].label if name in SETTINGS else name for name in changed)})" if changed else ""
    return f"the policy file is now {sha256[:SHORT_HASH]}{what}" if sha256 else "the policy file is gone"


def _scenario_said(load: int | None, details: Mapping[str, Any]) -> str:
    del load
    return f"scenario {details['name']} {'saved' if details['saved'] else 'removed'}"


def _restore_said(load: int | None, details: Mapping[str, Any]) -> str:
    del load
    return f"restored from {details['from']}"


def _upgrade_said(load: int | None, details: Mapping[str, Any]) -> str:
    del load
    return f"brought up from version {details['from']} to {details['to']}"


_SAYINGS: Mapping[str, Callable[[int | None, Mapping[str, Any]], str]] = {
    "load": _load_said,
    "undo": _undo_said,
    "fit": _fit_said,
    "policy": _policy_said,
    "scenario": _scenario_said,
    "restore": _restore_said,
    "upgrade": _upgrade_said,
}
