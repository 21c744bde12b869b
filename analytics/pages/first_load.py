"""What an empty store opens with: look around on an invented business, take blank files, or bring your own."""

from pathlib import Path

from analytics.answers.demonstrating import fill
from analytics.answers.records import Records, policy_path
from analytics.answers.templates import zipped_templates
from analytics.pages import bring, loaded, policy
from analytics.pages.form import Form
from analytics.pages.page import Download, Downloads, Page, Section, Words

ANSWER = "Nothing is loaded yet: bring your files, take blank ones to fill in, or look around first."
OWN = (
    "Job history, measurements, resin used and callbacks, as you keep them. You see what becomes of every column and "
    "row before anything goes in, and the last load can be taken back."
)
BLANK = (
    "One file a table (jobs, cracks, callbacks, rates, reviews), each with its columns and a row to overwrite, and the "
    "file of your thresholds and your margin."
)
UNITS = (
    "It counts beside the store, as {policy}. Whether you read metres or feet, inches, gallons and °F is set on the "
    'page Policy, or there as display = "us"; your files may be in either.'
)
LOOK = "Six years of a business that does not exist, said so on every page, and taken out again at a button."


def build(records: Records) -> Page:
    """The three ways to begin."""
    path = records.store.path
    units = UNITS.format(policy=policy_path(path).name)
    blank = Download("Take the blank files", "leakback-blank-files.zip", zipped_templates)
    demo = Form("demo", "Fill it with an invented business", (), lambda _: _filled(path))
    return Page(
        ANSWER,
        (
            Section("Bring your own files", (Words(OWN), bring.upload(records))),
            Section(
                "Start from blank files",
                (Words(f"{BLANK} {units}", links=(("page Policy", policy.PATH),)), Downloads((blank,))),
            ),
            Section("Look around first", (Words(LOOK), demo)),
        ),
        worked_out=bring.WORKED_OUT,
    )


def _filled(path: Path) -> str:
    return loaded.build(fill(path)).answer
