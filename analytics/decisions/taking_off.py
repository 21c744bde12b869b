"""The take-off of planned cracks: what geometry and the trade's usual practice make of the measurements."""

from collections.abc import Iterator

import polars as pl

from analytics.contract.references import reference
from analytics.contract.tables import RESINS
from analytics.decisions.quote import TakeOff
from analytics.takeoff.ports import port_count_expr
from analytics.takeoff.volumes import seal_litres_expr, void_litres_expr


def usual_spacing_mm(wall_thickness_mm: pl.Expr) -> pl.Expr:
    """The spacing counted with where none is given: the wall's thickness, within the usual 150 to 250 mm."""
    least, most = reference("usual_port_spacing").numbers
    return wall_thickness_mm.clip(least, most)


def with_spacing(cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with port_spacing_mm filled in by the usual one where blank, and ``spacing_assumed``."""
    spacing = pl.col("port_spacing_mm")
    return cracks.with_columns(
        port_spacing_mm=spacing.fill_null(usual_spacing_mm(pl.col("wall_thickness_mm"))),
        spacing_assumed=spacing.is_null(),
    )


def take_offs(cracks: pl.DataFrame) -> Iterator[TakeOff]:
    """The take-off of each crack of a frame ``with_spacing``, in its order."""
    ports = port_count_expr()
    fill = reference("fill_to_next_port").number
    cure = {resin: reference(f"cure_{resin}").number for resin in RESINS}
    rows = cracks.select(
        void=void_litres_expr(),
        ports=ports,
        spacing="port_spacing_mm",
        assumed="spacing_assumed",
        seal=seal_litres_expr(),
        fill=(ports - 1) * fill,
        cure=pl.col("resin").cast(pl.String).replace_strict(cure, default=None, return_dtype=pl.Float64),
    )
    return (TakeOff(*row) for row in rows.iter_rows())
