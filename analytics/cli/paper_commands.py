"""Commands that write paper: job sheets, an engineer's referral, the owner's month."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from analytics.cli.options import DAY, FILE, FOLDER, Command, format_option, store_option
from analytics.cli.printing import emit_written, into, working
from analytics.errors import LeakbackError

if TYPE_CHECKING:
    from analytics.answers.flagging import Flags
    from analytics.pages.page import Document, Paper

MOST_NAMED = 5


def paper_option(command: Command) -> Command:
    """The size of the sheets."""
    return click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)(command)


def folder_option(command: Command) -> Command:
    """Where the sheets go."""
    return click.option(
        "--output",
        type=FOLDER,
        default=Path(),
        help="The folder the sheets go into; made where there is none. Without it, this one.",
    )(command)


@click.command(epilog="Example: leakback sheet --planned-week 2026-11-09 --output sheets --paper letter")
@click.argument("jobs", nargs=-1)
@click.option(
    "--planned-week",
    type=DAY,
    help="Every job planned in the week, Monday to Sunday, that holds this day (year-month-day).",
)
@folder_option
@paper_option
@store_option
@format_option
def sheet(
    jobs: tuple[str, ...],
    planned_week: date | None,
    output: Path,
    paper: 'Literal["a4", "letter"]',
    store: Path,
    form: str,
) -> None:
    """Write the job sheet of each of JOBS, or of a week's planned jobs: one PDF a job."""
    from analytics.answers import flagging
    from analytics.answers.records import Records
    from analytics.pages import papers

    if bool(jobs) == bool(planned_week):
        raise click.UsageError("name the jobs, or give --planned-week: one of the two")
    records = Records.of(store)
    with working("setting the job sheets"):
        found = flagging.flags(records)
        wanted = list(dict.fromkeys(jobs)) or _planned_in(found, planned_week or date.min)
        documents = {papers.file_name("job", job_id, "pdf"): papers.sheet(records, found, job_id) for job_id in wanted}
        files = _written(output, documents, paper)
    _say(form, files)


@click.command(epilog="Example: leakback referral J-4955 --output sheets")
@click.argument("job")
@folder_option
@paper_option
@store_option
@format_option
def referral(job: str, output: Path, paper: 'Literal["a4", "letter"]', store: Path, form: str) -> None:
    """Write the sheet that goes to an engineer about JOB: what was measured, why it is asked, boxes to decide."""
    from analytics.answers import flagging
    from analytics.answers.records import Records
    from analytics.pages import papers
    from analytics.pages.referral import build

    records = Records.of(store)
    with working("setting the referral"):
        document = build(flagging.flags(records), job, papers.about(records))
        files = _written(output, {papers.file_name("referral", job, "pdf"): document}, paper)
    _say(form, files)


@click.command(epilog="Example: leakback report --month 2026-10 --output october.html")
@click.option("--month", default="", metavar="YEAR-MONTH", help="The month; else the one the records reach into.")
@click.option(
    "--output",
    type=FILE,
    help="A file ending in .html or .pdf; else report-YEAR-MONTH.html here.",
)
@paper_option
@store_option
@format_option
def report(month: str, output: Path | None, paper: 'Literal["a4", "letter"]', store: Path, form: str) -> None:
    """Write the owner's month: a PDF, or one HTML file that opens offline."""
    from analytics.answers.monthly import month_of
    from analytics.answers.records import Records
    from analytics.pages import monthly, papers
    from analytics.render.paper import ENDINGS

    if output is not None and output.suffix.lower() not in ENDINGS:
        raise LeakbackError(f"--output {output.name}: end the file's name in {' or '.join(ENDINGS)}")
    records = Records.of(store)
    wanted = month_of(records, month)
    file = output or Path(f"report-{wanted}.html")
    with working("putting the month together"):
        document = monthly.build(records, wanted, papers.about(records))
        files = _written(file.parent, {file.name: document}, paper)
    _say(form, files)


def _planned_in(found: "Flags", day: date) -> list[str]:
    """The jobs planned in the week that holds ``day``, by their day; LeakbackError where there is none."""
    from analytics.pages.papers import SIX_DAYS, in_week, week_of

    monday = week_of(day)
    jobs = in_week(found.planned, monday)
    if not jobs:
        until = monday + SIX_DAYS
        raise LeakbackError(f"no job is planned from {monday} to {until}; see the days with: leakback flags --all")
    return jobs


def _written(folder: Path, documents: "dict[str, Document]", paper: "Paper") -> list[Path]:
    """The files that were written; every one is made before the first is."""
    from analytics.render.paper import made, today

    files = {name: made(document, name, paper, today()) for name, document in documents.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            (folder / name).write_bytes(content)
    except OSError as error:
        raise LeakbackError(f"cannot write {into(folder)}: {error.strerror or error}") from error
    return [folder / name for name in files]


def _say(form: str, files: list[Path]) -> None:
    """Say which files were written into one folder."""
    names = [file.name for file in files]
    listed = ", ".join(names) if len(names) <= MOST_NAMED else f"{names[0]} and {len(names) - 1} more"
    emit_written(form, files, f"Wrote {listed} {into(files[0].parent)}.")
