import pytest

from analytics.pages.page import Chart, Page, Table
from analytics.render import taking


@pytest.mark.parametrize(
    ("title", "stem"),
    [
        ("Planned cracks", "planned-cracks"),
        ("../../etc/passwd", "etc-passwd"),
        ("", "leakback"),
        ("Share of cracks that leaked back.", "share-of-cracks-that-leaked-back"),
        ("word " * 30, "-".join(["word"] * 12)),
    ],
)
def test_files_are_named_after_what_they_hold(planned: Table, title: str, stem: str) -> None:
    table = Table(planned.columns, planned.rows, title=title)
    assert [file.name for file in taking.table_files(table)] == [f"{stem}.csv", f"{stem}.xlsx"]


def test_files_are_made_when_asked(planned: Table) -> None:
    comma, book = taking.table_files(planned)
    assert b"J-3982" in comma.make()
    assert book.make().startswith(b"PK")


def test_a_chart_is_taken_as_a_picture(page: Page) -> None:
    chart = next(part for part in page.parts if isinstance(part, Chart))
    png, svg = taking.chart_files(chart)
    assert (png.name, svg.name) == ("two-plots.png", "two-plots.svg")
    assert png.make().startswith(b"\x89PNG")
    assert svg.make().startswith(b"<svg ")
