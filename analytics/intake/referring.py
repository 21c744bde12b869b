"""What a row is held to in the rows it refers to, in the store or in its load."""

import polars as pl

from analytics.intake.checking import BOTH_NUMBERS, Draft, changed
from analytics.intake.known import SIZES, Known


def check_references(draft: Draft, known: Known) -> Draft:
    """Hold each row to the rows it refers to, in the store or in this load."""
    checks = {"cracks": _cracks, "callbacks": _callbacks, "reviews": _reviews}
    return checks[draft.table](draft, known) if draft.table in checks else draft


def _missing(column: str, what: str) -> pl.Expr:
    return pl.format(f"no {what} {{}} is loaded; load its row, or mend it where it was rejected", pl.col(column))


def _cracks(draft: Draft, known: Known) -> Draft:
    """A crack belongs to a known job; one that takes the place of another job's, with other sizes, is odd."""
    draft = draft.with_faults(known.lost("jobs", draft.frame), "job_id", _missing("job_id", "job"))
    held = known.rows("cracks", draft.frame["crack_id"])
    moved = draft.frame.join(held, on="crack_id", suffix="_held").filter(pl.col("job_id") != pl.col("job_id_held"))
    other = moved.filter(pl.any_horizontal(pl.col(name).ne_missing(pl.col(f"{name}_held")) for name in SIZES))
    why = pl.format(
        "took the place of crack {} of job {}, of other sizes; if it is another crack, leakback undo, and ",
        "crack_id",
        "job_id_held",
    )
    return draft.with_warnings(other, "crack_id", why + BOTH_NUMBERS)


def _callbacks(draft: Draft, known: Known) -> Draft:
    jobs = known.rows("jobs", draft.frame["job_id"])
    calls = draft.frame.drop_nulls("job_id").join(jobs, on="job_id", how="left")
    unknown = calls.filter(pl.col("status").is_null())
    draft = draft.with_faults(unknown, "job_id", _missing("job_id", "job"))
    not_done = pl.format("job {} is {}, not done; a callback is about finished work", "job_id", "status")
    draft = draft.with_faults(calls.filter(pl.col("status") != "done"), "job_id", not_done)
    early = pl.format("reported_on is {}, before the job was done on {}", "reported_on", "done_on")
    draft = draft.with_faults(calls.filter(pl.col("reported_on") < pl.col("done_on")), "reported_on", early)
    named = draft.frame.drop_nulls(["crack_id", "job_id"])
    cracks = known.rows("cracks", named["crack_id"])
    foreign = named.join(cracks, on=["crack_id", "job_id"], how="anti")
    return draft.with_faults(foreign, "crack_id", pl.format("job {} has no crack {}", "job_id", "crack_id"))


def _reviews(draft: Draft, known: Known) -> Draft:
    draft = draft.with_faults(known.lost("cracks", draft.frame), "crack_id", _missing("crack_id", "crack"))
    decided = known.rows("reviews", draft.frame["review_id"]).drop_nulls("decision")
    reason = "this review is decided already and reviews are only added to; record a new one under a new review_id"
    return draft.with_faults(changed(draft, draft.frame, decided), "review_id", reason)
