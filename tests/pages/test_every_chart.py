"""Every chart of every page can be drawn, also for a business that has set nothing and recorded little."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.loading import Loaded
from analytics.answers.records import Records
from analytics.charts.plot import as_spec
from analytics.pages.page import Chart, Page
from analytics.pages.questions import PAGES
from analytics.pages.within import every_part
from tests.histories import DONE_JOB


def charts(page: Page) -> Iterator[Chart]:
    return (part for part in every_part(page.parts) if isinstance(part, Chart))


def drawn(store: Path) -> int:
    """How many charts all pages have, each of them drawn, and for the screen as the chart library would."""
    records = Records.of(store)
    plots = [plot for _, build in PAGES.values() for chart in charts(build(records, {})) for plot in chart.plots]
    assert [without_names(as_spec(plot)) for plot in plots] == [without_names(plot.to_dict()) for plot in plots]
    return len(plots)


def without_names(spec: dict[str, Any]) -> tuple[object, list[int]]:
    """A chart in words whatever its data are called, and how many rows each of them has."""
    rows = spec.pop("datasets")

    def bare(value: object) -> object:
        if isinstance(value, dict):
            return {key: bare(each) for key, each in value.items() if not (key == "name" and each in rows)}
        return [bare(each) for each in value] if isinstance(value, list) else value

    return bare(spec), sorted(len(each) for each in rows.values())


@pytest.fixture(scope="module")
def without_policy(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's records with no policy beside them: no margin, no minutes for prep, nothing chosen."""
    copied = tmp_path_factory.mktemp("bare") / "bare.duckdb"
    shutil.copy(demo_store, copied)
    return copied


def test_with_no_policy(without_policy: Path, demo_store: Path) -> None:
    assert 10 < drawn(without_policy) <= drawn(demo_store)


def test_with_one_job_only_its_completeness_is_drawn(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    assert drawn(store_path) == 1  # how complete the records are
