"""Cracks to be quoted as they are typed or come in a file: what cannot be is one sentence, and no row is lost."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.quote_file import from_file
from analytics.answers.quote_input import typed_crack
from analytics.answers.quoting import quote
from analytics.answers.records import Records
from analytics.errors import LeakbackError, UnknownNameError, UnreadableFileError
from tests.intake.brought import Rows, workbook

TYPED = {"length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200.0, "resin": "epoxy", "water": "dry"}


@pytest.mark.parametrize(
    ("values", "error", "said"),
    [
        ({"length_m": None}, LeakbackError, "no length is given"),
        ({"width_mm": None}, LeakbackError, "no width is given"),
        ({"length_m": 0.0}, LeakbackError, "length 0 m: it must be over 0 and at most 50 m"),
        ({"width_mm": -1.0}, LeakbackError, "width -1 mm: it must be over 0"),
        ({"wall_thickness_mm": 20.0}, LeakbackError, "wall thickness 20 mm: it must be at least 75"),
        ({"length_m": float("nan")}, LeakbackError, "length nan"),
        ({"wall_temp_c": float("inf")}, LeakbackError, "wall temperature inf"),
        ({"warranty_months": -3}, LeakbackError, "warranty -3"),
        ({"price": Decimal(-1)}, LeakbackError, "price -1"),
        ({"price": Decimal("1e122")}, LeakbackError, "price 1e+122: it must be at least 0 and at most 1000000000"),
        ({"price": Decimal("sNaN")}, LeakbackError, "price sNaN"),
        ({"resin": "epoxi"}, UnknownNameError, "did you mean epoxy"),
        ({"water": "flood"}, UnknownNameError, "unknown water 'flood'"),
    ],
)
def test_what_cannot_be_is_one_sentence(values: dict[str, Any], error: type[Exception], said: str) -> None:
    with pytest.raises(error) as raised:
        typed_crack({**TYPED, **values})
    assert said in str(raised.value)
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize(("price", "kept"), [("1e-122", "0.00"), ("450.126", "450.13"), ("1e9", "1000000000.00")])
def test_a_price_is_kept_to_the_cent(price: str, kept: str) -> None:
    """With an exponent as far out as the first the frame library panics, where it should round."""
    assert typed_crack({**TYPED, "price": Decimal(price)}).cracks["price"].item() == Decimal(kept)


FILE = """crack_id;job_id;length_m;width_mm;wall_thickness_mm;resin;colour;price
A1;J1;2,4;0,5;200;epoxy;red;400
A2;J1;1,2;0,3;200;epxy;red;
A3;J2;99;0,3;200;epoxy;red;
;;1,2;0,3;200;epoxy;red;
A1;J1;2,4;0,5;200;epoxy;red;400
;;;;;;;
A5;J3;;0,3;200;epoxy;red;
"""


def test_a_file_is_quoted_but_for_its_bad_rows(tmp_path: Path, demo_store: Path) -> None:
    path = tmp_path / "cracks.csv"
    path.write_text(FILE, encoding="utf-8")
    asked = from_file(path)
    assert asked.cracks.select("crack_id", "job_id", "length_m", "cracks_on_job").rows() == [
        ("A1", "J1", 2.4, 3),
        ("row 5", "row 5", 1.2, 1),
    ]
    reasons = {(each["row"], each["column"]): each["reason"] for each in asked.rejects}
    assert list(reasons) == [(3, "resin"), (4, "length_m"), (6, "crack_id"), (8, "length_m")]
    assert "did you mean epoxy" in reasons[3, "resin"]
    assert "at most 50 m" in reasons[4, "length_m"]
    assert "there twice" in reasons[6, "crack_id"]
    assert asked.dropped_columns == ("colour",)
    found = quote(Records.of(demo_store), asked)
    assert len(found.quotes) + len(found.rejects) == 6
    assert found.quotes[0].place is not None
    assert found.quotes[1].place is None


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"crack_id,length_m\nA,2\n", "no column width_mm"),
        (b"", "empty"),
        (b"length_m,width_mm\n\x00\x01", "not a text file"),
    ],
)
def test_a_file_that_is_none_of_ours_is_one_sentence(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "cracks.csv"
    path.write_bytes(content)
    with pytest.raises(UnreadableFileError, match=said):
        from_file(path)
    with pytest.raises(UnreadableFileError, match="no such file"):
        from_file(tmp_path / "not there.csv")


def test_no_sheet_of_a_workbook_is_left_out_without_a_word(tmp_path: Path) -> None:
    path = tmp_path / "cracks.xlsx"
    rows: Rows = [["length_m", "width_mm"], [2.4, 0.5]]
    path.write_bytes(workbook(north=rows, empty=[]))
    assert from_file(path).cracks["length_m"].to_list() == [2.4]
    path.write_bytes(workbook(north=rows, south=rows))
    with pytest.raises(UnreadableFileError, match=r"cracks\.xlsx: 2 sheets hold something \(north, south\)"):
        from_file(path)
    path.write_bytes(workbook(**dict.fromkeys("abcd", rows)))
    with pytest.raises(UnreadableFileError, match=r"4 sheets hold something \(a, b, c, …\)"):
        from_file(path)
