"""The next numbers in a business's own way of numbering."""

import polars as pl

PARTS = r"^(.*?)(\d{1,15})$"


def next_code(codes: pl.Series, first: str) -> str:
    """The code after the highest of those written like most, ``J-0412`` after ``J-0411``; else ``first``.

    A suggestion: whoever records may type another.
    """
    parts = codes.to_frame("code").select(
        prefix=pl.col("code").str.extract(PARTS, 1), digits=pl.col("code").str.extract(PARTS, 2)
    )
    counted = parts.drop_nulls().with_columns(number=pl.col("digits").cast(pl.Int64))
    if counted.is_empty():
        return first
    usual = counted.group_by("prefix").agg(pl.len()).sort("len", "prefix", descending=True).row(0)[0]
    digits, number = counted.filter(pl.col("prefix") == usual).sort("number").select("digits", "number").row(-1)
    return f"{usual}{number + 1:0{len(digits)}d}"


def next_codes(codes: pl.Series, first: str, count: int) -> list[str]:
    """So many codes, each the next after those before it."""
    found: list[str] = []
    for _ in range(count):
        known = pl.concat([codes.rename("code"), pl.Series("code", found, dtype=pl.String)])
        found.append(next_code(known, first))
    return found
