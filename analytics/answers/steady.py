"""Figures of an answer without the digits that hang on the order in which rows are added up."""

import polars as pl

DIGITS = 4
FIGURES = 7
"""Of a figure that may be very small, such as a p-value, so many significant ones are kept."""


def steady(value: float | None) -> float | None:
    """The figure to ``DIGITS`` after the point; None stays None."""
    return None if value is None else round(value, DIGITS)


def steady_rows(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows with every such figure to ``DIGITS`` after the point."""
    return rows.with_columns(pl.selectors.float().round(DIGITS))


def steady_figures(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows with every such figure to ``FIGURES`` significant ones."""
    return rows.with_columns(pl.selectors.float().round_sig_figs(FIGURES))
