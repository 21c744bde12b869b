"""What is kept of people and places, and what an export would tell."""

import polars as pl

from analytics.answers.extracting import NOT_FIT_FOR, Shared
from analytics.answers.privacy import Privacy
from analytics.contract import words
from analytics.decisions.small_groups import Groups
from analytics.pages.page import Column, Figure, Figures, Page, Part, Section, Table, Words

TOGETHER = "status, branch, access, day"
SAID = {TOGETHER: "status, branch, access and quarter together", "crew_id": "crew"}
WORKED_OUT = """
**Kept.** Only the contract's columns reach the store. A site is always replaced by a keyed code (HMAC-SHA-256), a
crew's name too; the key and the names stand in a file of their own that only its owner can read. Free text is not kept.

**Groups.** A group is what an outsider could know of a house together: status, branch, access and the quarter of the
work; and each crew, branch and word alone. One with fewer than k sites may tell who is who (k-anonymity, Sweeney 2002).

**Not covered.** Somebody who measured a crack knows it again by its measurements.
"""


def build(found: Privacy) -> Page:
    """What ``leakback privacy`` prints."""
    return Page(
        answer=_answer(found),
        parts=(
            Section("Groups an outsider could tell apart", _groups(found)),
            Section("Codes in place of people and places", (_codes(found),)),
            Section("Columns dropped on the way in", (_dropped(found),)),
            Section("Columns kept", (_kept(found.kept),)),
        ),
        worked_out=WORKED_OUT,
    )


def build_extract(shared: Shared, folder: str) -> Page:
    """What ``leakback extract`` prints."""
    made = shared.extract
    rows = pl.DataFrame({"table": list(made.tables), "rows": [rows.height for rows in made.tables.values()]})
    left_out = words.counted(made.jobs_left_out, "job", "jobs")
    return Page(
        answer=f"An extract to share is in {folder}: every group holds at least {made.k} sites; {left_out} of "
        f"{words.number(made.jobs_read)} left out.",
        parts=(
            Table((Column("table", "table"), Column("rows", "rows", kind="number")), rows, "Rows in each file"),
            Section("Not fit for", tuple(Words(words.sentence(line)) for line in NOT_FIT_FOR)),
        ),
    )


def _answer(found: Privacy) -> str:
    """Of the groups of every kind, a crew's or a branch's too, how many are small."""
    under, every = sum(each.under for each in found.groups), sum(each.groups for each in found.groups)
    if not under:
        return f"No group that an outsider could tell apart holds fewer than {found.k} sites."
    hold = "holds" if under == 1 else "hold"
    return (
        f"{words.number(under)} of {words.counted(every, 'group')} that an outsider could tell apart {hold} fewer than "
        f"{found.k} sites: share an extract (leakback extract), not the records."
    )


def _groups(found: Privacy) -> tuple[Part, ...]:
    shared = {each.by: each for each in found.shared}
    rows = pl.DataFrame([_group(each, shared.get(each.by)) for each in found.groups])
    columns = (
        Column("by", "group"),
        Column("groups", "groups", kind="number"),
        Column("under", f"under {found.k} sites", kind="number"),
        Column("smallest", "smallest", kind="number", help="sites in the smallest group"),
        Column("shared", "smallest in an extract", kind="number"),
    )
    table = Table(columns, rows, "Groups")
    if found.jobs_left_out is None:
        return table, Words("There is too little to share: no group could be made large enough.")
    left_out = words.counted(found.jobs_left_out, "job is", "jobs are")
    return table, Words(f"{left_out} left out of an extract, as nothing hides them.", "muted")


def _group(each: Groups, shared: Groups | None) -> dict[str, object]:
    return {
        "by": SAID.get(each.by, words.word(each.by)),
        "groups": each.groups,
        "under": each.under,
        "smallest": each.smallest,
        "shared": shared.smallest if shared else None,
    }


def _codes(found: Privacy) -> Figures:
    return Figures(
        (
            Figure("sites", found.codes.sites, note="each a keyed code"),
            Figure("crews", found.codes.crews),
            Figure("crews brought by name", found.codes.crews_by_name, note=found.codes.private_file),
        )
    )


def _dropped(found: Privacy) -> Table:
    rows = pl.DataFrame(
        {"batch": list(found.dropped), "columns": [", ".join(columns) for columns in found.dropped.values()]},
        schema={"batch": pl.Int64, "columns": pl.String},
    )
    columns = (Column("batch", "load", kind="number"), Column("columns", "columns"))
    return Table(columns, rows, "Columns dropped", empty="No load brought a column that is not in the contract.")


def _kept(kept: pl.DataFrame) -> Table:
    columns = (
        Column("column", "column", under="table"),
        Column("kind", "kind"),
        Column("kept_as", "kept"),
    )
    return Table(columns, kept, "Columns kept")
