"""A crack's number that another job's crack has too: in one file, and in the records."""

from analytics.contract.tables import TABLES
from analytics.intake import Known
from tests.histories import CRACK, DONE_JOB
from tests.intake.brought import brought, clean, csv_bytes, faults

JOBS = csv_bytes([[*DONE_JOB], [*DONE_JOB.values()], [*(DONE_JOB | {"job_id": "J-2"}).values()]])


def cracks(*changed: dict[str, object]) -> bytes:
    return csv_bytes([[*CRACK], *(list((CRACK | each).values()) for each in changed)])


def test_what_to_do_is_said_where_two_jobs_have_a_crack_of_one_number() -> None:
    batch = brought({"jobs.csv": JOBS, "cracks.csv": cracks({}, {"job_id": "J-2", "length_m": 3})})
    said = {reason for _, _, reason in faults(batch)}
    assert len(said) == 1
    assert said.pop().startswith("several jobs of this load have a crack K-1: give each a number of its own; where")


def test_another_jobs_crack_in_the_records_is_not_replaced_without_a_word() -> None:
    first = brought({"jobs.csv": JOBS, "cracks.csv": cracks({})})
    frames = {name: first.tables[name].clean for name in ("jobs", "cracks")}
    known = Known.of(frames | {"reviews": TABLES["reviews"].create_empty()})
    other = brought({"cracks.csv": cracks({"job_id": "J-2", "length_m": 3})}, known=known)
    assert clean(other, "cracks", "crack_id", "job_id") == [("K-1", "J-2")]
    [(column, reason)] = other.warnings.select("column", "reason").iter_rows()
    assert column == "crack_id"
    assert reason.startswith("took the place of crack K-1 of job J-1, of other sizes; if it is another crack,")
    put_right = brought({"cracks.csv": cracks({"job_id": "J-2"})}, known=known)
    assert clean(put_right, "cracks", "crack_id", "job_id") == [("K-1", "J-2")]
    assert put_right.warnings.is_empty()
