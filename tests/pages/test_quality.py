from pathlib import Path

from analytics.answers.records import Records
from analytics.pages import quality
from analytics.pages.page import Chart, Section, Table


def test_the_page_opens_with_what_is_missing_most_then_its_picture(demo_store: Path) -> None:
    page = quality.build(Records.of(demo_store), {})
    assert page.answer.startswith("2\u202f430 cracks with no movement written down: ")
    chart = page.parts[0]
    assert isinstance(chart, Chart)
    assert chart.alt == page.answer
    # nobody called in 2020
    assert chart.note.endswith(" filled. A blank: no such row that year.")
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert titles[0] == "What the gaps cost"
    assert "Columns that jumped" in titles


def test_every_estimate_says_what_it_rests_on(demo_store: Path) -> None:
    page = quality.build(Records.of(demo_store), {})
    [costs] = [part.parts[0] for part in page.parts if isinstance(part, Section) and part.title == "What the gaps cost"]
    assert isinstance(costs, Table)
    shares = costs.rows["share"].to_list()
    assert shares == sorted(shares)
    assert "131 cracks without litres or length: resin per metre rests on 98\u202f% of the work" in costs.rows["says"]
