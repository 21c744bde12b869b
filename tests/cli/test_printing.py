import csv
import io

import pytest

from analytics.cli.printing import emit
from analytics.pages.page import Page


def test_a_csv_holds_no_text_that_a_spreadsheet_would_run(capsys: pytest.CaptureFixture[str]) -> None:
    rows = [{"cell": "=1+1", "file": "@jobs.csv", "value": -0.5, "said": "a = b"}]
    emit("csv", {"rows": rows}, "rows", lambda: Page("never shown"))
    [row] = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert row == {"cell": "'=1+1", "file": "'@jobs.csv", "value": "-0.5", "said": "a = b"}
