"""Another engine, once: the fact views and the leak-back rate on Spark over partitioned Parquet, held to DuckDB's.

``python -m tests.bench.spark FOLDER``, of a business that the bench has loaded. Spark runs in local mode and needs
Java 17; every SELECT is written over from its one file, with its values put in, and both engines' rows are compared.
"""

import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import sqlglot
from polars.testing import assert_frame_equal
from pyspark.sql import SparkSession
from rich.console import Console
from rich.table import Table
from sqlglot import exp

from analytics.contract.ages import horizon_days
from analytics.contract.dimensions import Dimension, dimensions
from analytics.contract.tables import TABLES
from analytics.store.composing import compose, selects
from tests.bench.folders import store

FACTS = ("done_jobs", "done_cracks", "placed_leak_backs", "follow_up", "planned_cracks")
BY = dimensions(["resin", "season"])
AGES_MONTHS = (12, 24, 60)
AGES = "leak_back_ages"
PARTITIONS = 8


def export(connection: duckdb.DuckDBPyConnection, folder: Path) -> None:
    """The tables as Parquet, those of jobs in a folder a partition, by job."""
    for name, table in TABLES.items():
        part = f"hash(job_id) % {PARTITIONS}" if "job_id" in table.columns() else "0"
        connection.execute(
            f"copy (select *, {part} as part from {name}) to '{folder / name}' (format parquet, partition_by (part))"
        )


def written_over(sql: str, values: dict[str, Any]) -> str:
    """The same question in Spark's dialect, its values put in. The ages asked for are a table there."""
    tree = sqlglot.parse_one(sql, read="duckdb")
    for step in tree.find_all(exp.CTE):
        if step.alias == AGES:
            step.pop()
    for asked in (*tree.find_all(exp.Parameter), *tree.find_all(exp.Placeholder)):
        asked.replace(_literal(values[asked.name or asked.this.name]))
    return tree.sql(dialect="spark", unsupported_level=sqlglot.ErrorLevel.RAISE)


def _literal(value: Any) -> exp.Expression:
    if isinstance(value, date):
        return exp.cast(exp.Literal.string(value.isoformat()), "date")
    return exp.convert(value)


def questions() -> Iterable[tuple[str, Sequence[Dimension]]]:
    """What is asked of both engines."""
    yield from ((name, ()) for name in FACTS)
    yield "leak_back_rate", BY


def same(ours: pl.DataFrame, theirs: pl.DataFrame) -> None:
    """AssertionError where the two answers are not of the same rows: numbers to 1 in 10^9."""
    plain = [_plain(frame) for frame in (ours, theirs.select(ours.columns))]
    keys = [name for name, kind in plain[0].schema.items() if kind == pl.String or name == "age_months"]
    one, other = (frame.sort(keys or frame.columns, nulls_last=True) for frame in plain)
    assert_frame_equal(one, other, check_exact=False, rel_tol=1e-9, abs_tol=1e-12)


def _plain(frame: pl.DataFrame) -> pl.DataFrame:
    """Kinds of column that both engines know: numbers as floats, days as text."""
    return frame.with_columns(
        pl.selectors.numeric().cast(pl.Float64),
        pl.selectors.temporal().cast(pl.Date).cast(pl.String),
    )


def main(folder: Path) -> None:
    """Ask both, compare, and print what each took."""
    console, found = Console(width=100), Table("select", "rows", "DuckDB, s", "Spark, s", title="wall seconds")
    with (
        tempfile.TemporaryDirectory(prefix="leakback-spark-") as temporary,
        duckdb.connect(str(store(folder)), read_only=True) as connection,
    ):
        export(connection, Path(temporary))
        spark = session(Path(temporary))
        as_of = connection.sql(selects()["as_of"]).fetchall()[0][0]
        days = [horizon_days(months) for months in AGES_MONTHS]
        ages = list(zip(AGES_MONTHS, days, strict=True))
        spark.createDataFrame(ages, ["age_months", "age_days"]).createOrReplaceTempView(AGES)
        values = {"as_of": as_of, "hemisphere": "north", "ages_months": list(AGES_MONTHS), "ages_days": days}
        for name, by in questions():
            sql = compose(name, by, (), {})
            needed = {key: value for key, value in values.items() if f"${key}" in sql}
            begun = time.perf_counter()
            ours = connection.sql(sql, params=needed or None).pl()
            between = time.perf_counter()
            theirs = pl.from_arrow(spark.sql(written_over(sql, values)).toArrow())
            ended = time.perf_counter()
            same(ours, theirs)
            found.add_row(name, f"{ours.height:,}", f"{between - begun:.2f}", f"{ended - between:.2f}")
        spark.stop()
    console.print(found)
    console.print("Every row the same.")


def session(folder: Path) -> SparkSession:
    """Spark in local mode, the exported tables in it under their names."""
    spark = (
        SparkSession.builder.master("local[2]")
        .config("spark.ui.enabled", "false")
        .config("spark.driver.bindAddress", "127.0.0.1")
        .config("spark.driver.host", "127.0.0.1")
        .config("spark.driver.memory", "3g")
        .config("spark.driver.maxResultSize", "2g")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.shuffle.partitions", str(PARTITIONS))
        .getOrCreate()
    )
    spark.sparkContext.setLogLevel("OFF")
    for name in TABLES:
        spark.read.parquet(str(folder / name)).drop("part").createOrReplaceTempView(name)
    return spark


if __name__ == "__main__":
    main(Path(sys.argv[1]))
