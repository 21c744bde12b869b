"""A document as a file: a PDF to print, or one HTML file that opens offline, by its name's ending."""

from pathlib import PurePath

from analytics.errors import LeakbackError
from analytics.pages.page import Document, Paper

ENDINGS = (".pdf", ".html")


def made(document: Document, file_name: str, paper: Paper = "a4") -> bytes:
    """The document's bytes; LeakbackError where the name ends otherwise. ``paper`` is the PDF's size."""
    ending = PurePath(file_name).suffix.lower()
    if ending == ".pdf":
        from analytics.render.typeset import pdf  # noqa: PLC0415 - setting a PDF is only loaded when asked for

        return pdf(document, paper)
    if ending == ".html":
        from analytics.render.standalone import html  # noqa: PLC0415 - drawing for a file is only loaded when asked for

        return html(document).encode()
    raise LeakbackError(f"{file_name}: end the file's name in {' or '.join(ENDINGS)}")
