import polars as pl
import pytest

from analytics.answers.next_code import next_code, next_codes


@pytest.mark.parametrize(
    ("codes", "expected"),
    [
        ([], "J-1"),
        (["alpha", "beta"], "J-1"),
        (["J-0411", "J-0009"], "J-0412"),
        (["J-0999"], "J-1000"),
        (["X-9999", "J-0001", "J-0002"], "J-0003"),
        (["2024/17", "2024/18", "2023/99"], "2024/19"),
        (["12", "7"], "13"),
    ],
)
def test_the_next_code_follows_the_usual_way_of_numbering(codes: list[str], expected: str) -> None:
    assert next_code(pl.Series("code", codes, dtype=pl.String), "J-1") == expected


def test_several_follow_one_another() -> None:
    known = pl.Series("review_id", ["R-0998", "R-0003"], dtype=pl.String)
    assert next_codes(known, "R-1", 3) == ["R-0999", "R-1000", "R-1001"]
    assert next_codes(known.clear(), "R-0001", 2) == ["R-0001", "R-0002"]
    assert next_codes(known, "R-1", 0) == []
