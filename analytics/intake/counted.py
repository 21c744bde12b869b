"""Cracks that are numbered by counting the rows of their job, held to those in the records under the same numbers."""

from collections.abc import Iterable

import polars as pl

from analytics.contract.descriptions import unit
from analytics.intake.checking import PLACE, Draft
from analytics.intake.known import SIZES, Known
from analytics.intake.sheet import Sheet

_SAID = dict(zip(SIZES, ("long", "wide"), strict=True))
ALIKE = 0.005
"""Two measurements of one crack differ by no more of the greater than this: rounding, common practice, no source."""
HOW = "mend crack_id: another number if it is another crack, this number again if it is this one"


def check_counted(draft: Draft, sheets: Iterable[Sheet], known: Known) -> Draft:
    """Refuse counted rows that may be another crack than the one in the records under their number.

    A file that leaves out one of a job's rows, or has them in another order, counts on regardless: its rows would
    overwrite other cracks. A row with the very length and width that are held is taken for that crack.
    """
    counted = [
        sheet.numbers.to_frame("row").with_columns(file=pl.lit(sheet.file), following=sheet.following)
        for sheet in sheets
        if sheet.following is not None and draft.table == "cracks"
    ]
    if not counted:
        return draft
    needed = draft.frame.select(*PLACE, "crack_id", "job_id", *SIZES)
    rows = needed.join(pl.concat(counted), on=PLACE, maintain_order="left").drop_nulls("crack_id")
    stored = known.rows("cracks", pl.concat([rows["crack_id"], rows["following"]]))
    held = rows.join(stored, on=["crack_id", "job_id"], suffix="_held", maintain_order="left")
    for name, said in _SAID.items():
        measure = unit(draft.schema.columns()[name])
        other = held.filter(_differ(pl.col(name), pl.col(f"{name}_held")))
        why = f"counted as {{}}; crack {{}} in the records is {{}} {measure} {said}, this row {{}} {measure}; {HOW}"
        draft = draft.with_faults(other, "crack_id", pl.format(why, "crack_id", "crack_id", f"{name}_held", name))
        held = held.join(other, on=PLACE, how="anti", maintain_order="left")
    same = pl.all_horizontal(pl.col(name) == pl.col(f"{name}_held") for name in SIZES)
    untold = held.filter(~same.fill_null(value=False))
    fewer = untold.join(stored.select(following="crack_id"), on="following", how="semi", maintain_order="left")
    why = f"counted as {{}} within its job, which has more cracks in the records than rows in this file; {HOW}"
    return draft.with_faults(fewer, "crack_id", pl.format(why, "crack_id"))


def _differ(one: pl.Expr, other: pl.Expr) -> pl.Expr:
    return (one - other).abs() > ALIKE * pl.max_horizontal(one, other)
