"""What a row is held to beyond the type of its cells: limits, keys and days."""

from collections.abc import Iterable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache

import dataframely as dy
import polars as pl

from analytics.contract.batch import FAULT_COLUMNS, CheckedTable, Part, no_waiting, no_warnings
from analytics.contract.descriptions import limits, unit
from analytics.contract.tables import TABLES
from analytics.intake.discretion import PHONE_DIGITS
from analytics.intake.known import Known
from analytics.intake.mending import Mended, identity
from analytics.intake.oddities import warnings

MAY_LIE_AHEAD = {"planned_on", "effective_on"}
PLACE = ["file", "row"]
SUM_WORD = r"(?i)^(?:grand[_-]?)?(?:sub[_-]?)?(?:totals?|sums?|averages?)$"
BOTH_NUMBERS = pl.lit(
    "give each a number of its own; where every job counts its own cracks, make it of both numbers in a column map, as "
    'crack_id = { template = "{job_id}-{crack_id}" } with the headers of your file'
)
ANOTHERS = "another job's crack, of other sizes, has this number, and a list does not overwrite it: write another"
PRIVATE_FROM = 10 ** (PHONE_DIGITS - 1)
"""A number from here on could be somebody's telephone number."""


@dataclass(frozen=True)
class Draft:
    """Rows of one table on their way in, the faults found so far, and what is ``odd`` beside the rows in force.

    ``frame`` has the contract's columns, then file and row, ``lacks``: the columns its file does not have, and
    ``unread``: how a row that could not be read whole was written, null for the others.
    """

    table: str
    frame: pl.DataFrame
    faults: pl.DataFrame
    repeated: int = 0
    odd: pl.DataFrame = field(default_factory=no_warnings)

    @property
    def schema(self) -> type[dy.Schema]:
        """The contract's declaration."""
        return TABLES[self.table]

    def with_faults(self, bad: pl.DataFrame, column: str, reason: pl.Expr | str) -> "Draft":
        """The draft with a fault for each row of ``bad``."""
        return replace(self, faults=pl.concat([self.faults, self._told(bad, column, reason)]))

    def with_warnings(self, odd: pl.DataFrame, column: str, reason: pl.Expr | str) -> "Draft":
        """The draft with a warning for each row of ``odd``, which is loaded all the same."""
        return replace(self, odd=pl.concat([self.odd, self._told(odd, column, reason)]))

    def _told(self, rows: pl.DataFrame, column: str, reason: pl.Expr | str) -> pl.DataFrame:
        why = pl.lit(reason) if isinstance(reason, str) else reason
        found = rows.select(
            pl.lit(self.table).alias("table"), *PLACE, pl.lit(column).alias("column"), why.alias("reason")
        )
        return found.cast(pl.Schema(FAULT_COLUMNS))

    def without(self, seen: pl.DataFrame) -> "Draft":
        """The draft without the rows whose file and row are in ``seen``."""
        if seen.is_empty():
            return self
        return replace(self, frame=self.frame.join(seen, on=PLACE, how="anti", maintain_order="left"))


def merge(parts: Sequence[Draft]) -> Draft:
    """Several files of one table as one draft."""
    return Draft(parts[0].table, pl.concat([p.frame for p in parts]), pl.concat([p.faults for p in parts]))


def lacking(names: Iterable[str]) -> str:
    """Names of absent columns as a draft keeps them."""
    return ",".join(sorted(names))


def _by_absent(frame: pl.DataFrame) -> Iterator[tuple[frozenset[str], pl.DataFrame]]:
    """The rows whose files lack the same columns, together."""
    if frame["lacks"].n_unique() == 1:
        yield frozenset(frame["lacks"][0].split(",")) - {""}, frame
        return
    for rows in frame.partition_by("lacks", maintain_order=True):
        yield frozenset(rows["lacks"][0].split(",")) - {""}, rows


def check_sums(draft: Draft) -> Draft:
    """Set aside rows that stand under the word for a sum where others have a job's number: they are no job's."""
    if "job_id" not in draft.schema.column_names():
        return draft
    sums = draft.frame.filter(pl.col("job_id").str.contains(SUM_WORD)).select(PLACE)
    draft = replace(draft.without(sums), faults=draft.faults.join(sums, on=PLACE, how="anti", maintain_order="left"))
    reason = "the row looks like a sum of others, not like a job or a part of one; delete it, and load the file again"
    return draft.with_faults(sums, "", reason)


def check_keys(draft: Draft) -> Draft:
    """Rows that only repeat another, cell by cell, are set aside; those with one key that differ are all faulty."""
    keys = draft.schema.primary_key()
    alike = _of_one_key(draft.frame, keys)
    repeats = alike.filter(~pl.struct([*draft.schema.column_names(), "unread"]).is_first_distinct()).select(PLACE)
    draft = replace(draft.without(repeats), repeated=repeats.height)
    draft = replace(draft, faults=draft.faults.join(repeats, on=PLACE, how="anti", maintain_order="left"))
    clashing = _of_one_key(alike.join(repeats, on=PLACE, how="anti", maintain_order="left"), keys)
    same = f"another row of this load has the same {' and '.join(keys)} and other values"
    reason = pl.format(f"{same} ({{}}); keep the right one", pl.concat_str(keys, separator=" "))
    if draft.table == "cracks":
        several = pl.format("several jobs of this load have a crack {}: ", "crack_id") + BOTH_NUMBERS
        reason = pl.when(pl.col("job_id").drop_nulls().n_unique().over("crack_id") > 1).then(several).otherwise(reason)
    return draft.with_faults(clashing, keys[0], reason)


def _of_one_key(frame: pl.DataFrame, keys: Sequence[str]) -> pl.DataFrame:
    """The rows whose key another row has too; whether there are any is quicker told than which."""
    if frame.select(pl.n_unique(keys[0]) if len(keys) == 1 else pl.struct(keys).n_unique()).item() == frame.height:
        return frame.clear()
    twice = frame[keys[0]].is_duplicated() if len(keys) == 1 else frame.select(keys).is_duplicated()
    return frame.filter(twice).drop_nulls(keys)


@cache
def _with_place(table: str) -> type[dy.Schema]:
    """The contract's declaration of a table, with the place of each row beside it; keys are ``check_keys``'s."""
    declared = {name: _unkeyed(column) for name, column in TABLES[table].columns().items()}
    place = {"file": dy.String(), "row": dy.Int64(), "lacks": dy.String(), "unread": dy.String(nullable=True)}
    return type(f"{table}_with_place", (TABLES[table],), declared | place)


def _unkeyed(column: dy.Column) -> dy.Column:
    held = copy(column)
    held.primary_key = False
    return held


def check_rows(draft: Draft) -> Draft:
    """Hold each row to the contract's limits and to its table's own rules."""
    _, failure = _with_place(draft.table).filter(draft.frame, cast=False)
    details = failure.details()
    already = draft.faults.select(*PLACE, "column")
    for rule in failure.counts():
        column = _column_of(rule, draft.schema)
        unseen = already.filter(pl.col("column") == column)
        bad = details.filter(pl.col(rule) == "invalid").join(unseen, on=PLACE, how="anti")
        draft = draft.with_faults(bad, column, _sentence(rule, column, draft.schema))
    return draft


def _column_of(rule: str, schema: type[dy.Schema]) -> str:
    if "|" in rule:
        return rule.split("|", maxsplit=1)[0]
    return max((name for name in schema.column_names() if rule.startswith(name)), key=len, default="")


def _sentence(rule: str, column: str, schema: type[dy.Schema]) -> pl.Expr | str:
    """Why a row breaks a rule of the contract, as a sentence."""
    if "|" not in rule:
        return str(vars(schema)[rule].validation_fn.__doc__)
    declared = schema.columns()[column]
    match rule.split("|")[1]:
        case "nullability":
            return f"{column} must not be blank"
        case "regex" if column == "currency":
            return "currency is a three-letter code such as USD"
        case "regex":
            return f"{column} is a number or code without spaces, such as A-102; names and free text are not kept"
        case "max_length":
            return f"{column} is longer than 64 characters"
        case _:
            measured = "" if isinstance(declared, dy.Decimal) else f" {unit(declared)}".rstrip()
            said = pl.format(f"{column} is {{}}{measured}; it must be {limits(declared)}", pl.col(column))
            untold = pl.lit(f"{column} must be {limits(declared)}")
            return pl.when(pl.col(column).cast(pl.Float64).abs() < PRIVATE_FROM).then(said).otherwise(untold)


def check_days(draft: Draft, today: date) -> Draft:
    """Nothing recorded can lie after the day of the load."""
    for name, column in draft.schema.columns().items():
        if isinstance(column, dy.Date) and name not in MAY_LIE_AHEAD:
            reason = pl.format(f"{name} is {{}}, after the day of this load ({today})", pl.col(name))
            draft = draft.with_faults(draft.frame.filter(pl.col(name) > today), name, reason)
    return draft


def changed(draft: Draft, rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """The rows whose key is held with other values in a column that their file has."""
    keys, names = draft.schema.primary_key(), draft.schema.column_names()
    found = [rows.clear()]
    for absent, alike in _by_absent(rows):
        same = [name for name in names if name not in absent]
        known = alike.join(held, on=keys, how="semi", maintain_order="left")
        found.append(known.join(held, on=same, how="anti", nulls_equal=True, maintain_order="left"))
    return pl.concat(found)


def check_mended(draft: Draft, mended: Mended, known: Known) -> Draft:
    """Refuse rows of a work list that would take another row's place: they were one row's of a file that had both.

    Those whose key another row has had since it was given in the list, and those of another job's crack.
    """
    keys = draft.schema.primary_key()
    lists = [sheet.file for sheet in mended.sheets]
    draft = draft.with_faults(draft.odd.filter(pl.col("file").is_in(lists)), keys[0], ANOTHERS)
    rows = draft.frame.with_columns(pl.concat_str(pl.col(keys).cast(pl.String), separator=" ").alias("key"))
    rows = rows.join(mended.since.filter(pl.col("table") == draft.table), on=PLACE, maintain_order="left")
    if rows.is_empty():
        return draft
    read = mended.taken.filter(pl.col("table") == draft.table).group_by("key").agg(pl.col("batch").max())
    taken = rows.join(read, on="key", maintain_order="left").filter(pl.col("batch") >= pl.col("since"))
    held = known.held(draft.table, draft.schema.column_names(), taken[keys[0]])
    other = pl.concat([taken.join(held, on=keys, how="anti"), changed(draft, taken, held)])
    why = (
        f"another row with the {' and '.join(keys)} {{}} has been read since, which a list does not overwrite: write "
        "another; if this row is the right one, mend its file and load that; if it is not, take it off the list on the "
        "page Records"
    )
    return draft.with_faults(other, keys[0], pl.format(why, "key"))


def finish(draft: Draft, read: int, mended: Mended) -> CheckedTable:
    """The clean rows, the rejected ones with their sound cells, and what is odd about the clean ones."""
    faulty = draft.faults.select(PLACE).unique()
    clean = draft.without(faulty).frame
    names = draft.schema.column_names()
    parts = tuple(Part(rows.select(names), absent) for absent, rows in _by_absent(clean))
    return CheckedTable(
        parts or (Part(clean.select(names), frozenset()),),
        read,
        draft.repeated,
        draft.faults.unique(maintain_order=True).sort(*PLACE, maintain_order=True),
        pl.concat([_read_again(draft.table, clean, mended), *_waiting(draft, faulty)]),
        pl.concat([warnings(draft.table, clean), draft.odd.join(faulty, on=PLACE, how="anti", maintain_order="left")]),
    )


def _quantities(schema: type[dy.Schema]) -> list[str]:
    return [name for name, column in schema.columns().items() if column.dtype.is_numeric()]


def _read_again(table: str, clean: pl.DataFrame, mended: Mended) -> pl.DataFrame:
    """Which clean rows were rejected before, as JSON: the store cannot tell that it met one unchanged."""
    awaited = mended.awaited.filter(pl.col("table") == table)["key"].drop_nulls()
    named = mended.rows.filter(pl.col("table") == table)
    if awaited.is_empty() and named.is_empty():
        return no_waiting()
    keys = pl.col(TABLES[table].primary_key()).cast(pl.String)
    met = clean.filter(pl.concat_str(keys, separator=" ").is_in(awaited.implode()))
    met = pl.concat([met, clean.join(named, on=PLACE, how="semi", maintain_order="left")]).unique(PLACE)
    sound = pl.struct(pl.col(identity(table)).cast(pl.String)).struct.json_encode().alias("sound")
    return met.select(pl.lit(table).alias("table"), *PLACE, sound)


def _waiting(draft: Draft, faulty: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """The sound cells of each rejected row as JSON, a faulty one null.

    None of a row whose cells may have shifted, or that holds a number so large that it could be somebody's.
    """
    shifted = draft.faults.filter(pl.col("column") == "").select(PLACE)
    rows = draft.frame.join(faulty, on=PLACE, how="semi").join(shifted, on=PLACE, how="anti")
    large = [pl.col(name).cast(pl.Float64).abs() >= PRIVATE_FROM for name in _quantities(draft.schema)]
    rows = rows.filter(~pl.any_horizontal(large).fill_null(value=False)) if large else rows
    for name in draft.faults["column"].unique():
        if name:
            bad = draft.faults.filter(pl.col("column") == name).select(PLACE).unique()
            bad = bad.with_columns(pl.lit(value=True).alias("bad"))
            rows = rows.join(bad, on=PLACE, how="left", maintain_order="left")
            rows = rows.with_columns(pl.when(pl.col("bad").is_null()).then(pl.col(name)).alias(name)).drop("bad")
    for absent, alike in _by_absent(rows):
        brought = [name for name in draft.schema.column_names() if name not in absent]
        sound = pl.struct(pl.col(brought).cast(pl.String)).struct.json_encode().alias("sound")
        yield alike.select(pl.lit(draft.table).alias("table"), *PLACE, sound)
