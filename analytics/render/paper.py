"""A document as a file: a PDF to print, or one HTML file that opens offline, by its name's ending."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import PurePath

from analytics.contract import words
from analytics.errors import LeakbackError
from analytics.pages.page import Document, Paper

ENDINGS = (".pdf", ".html")
UNBROKEN = "\N{NO-BREAK SPACE}"


def made(document: Document, file_name: str, paper: Paper = "a4", printed_on: date | None = None) -> bytes:
    """The document's bytes; LeakbackError where the name ends otherwise.

    ``paper`` is the PDF's size, ``printed_on`` the day that stands on its sheets; without one the same document is the
    same bytes on any day.
    """
    ending = PurePath(file_name).suffix.lower()
    if ending == ".pdf":
        from analytics.render.typeset import pdf  # noqa: PLC0415 - setting a PDF is only loaded when asked for

        printed = [f"printed on {words.full_day(printed_on)}".replace(" ", UNBROKEN)] if printed_on else []
        return pdf(replace(document, about=" · ".join(filter(None, (document.about, *printed)))), paper)
    if ending == ".html":
        from analytics.render.standalone import html  # noqa: PLC0415 - drawing for a file is only loaded when asked for

        return html(document).encode()
    raise LeakbackError(f"{file_name}: end the file's name in {' or '.join(ENDINGS)}")


def today() -> date:
    """The day on which something is printed here."""
    return datetime.now(UTC).astimezone().date()
