"""Every named SELECT is plain enough for another engine: written over for Spark, nothing is left that it cannot say."""

import pytest
import sqlglot

from analytics.store.composing import compose, selects

COLUMNS = {"numerator": "resin_litres", "denominator": "length_m"}


@pytest.mark.parametrize("name", sorted(selects()))
def test_it_can_be_written_over_for_spark(name: str) -> None:
    ours = compose(name, [], [], COLUMNS)
    [theirs] = sqlglot.transpile(ours, read="duckdb", write="spark", unsupported_level=sqlglot.ErrorLevel.RAISE)
    read = sqlglot.parse_one(theirs, read="spark")
    steps = {step.alias for step in read.find_all(sqlglot.exp.CTE)}
    assert name in steps
    assert not {name for name in steps if name not in selects()}
    assert not [call.name for call in read.find_all(sqlglot.exp.Anonymous)], "a function that only one engine knows"


def test_no_waiting_row_is_held_against_every_job_or_crack() -> None:
    joins = list(sqlglot.parse_one(selects()["rejects"], read="duckdb").find_all(sqlglot.exp.Join))
    assert len(joins) == 2
    for join in joins:
        conditions = join.args["on"].flatten()
        same = [each for each in conditions if isinstance(each, sqlglot.exp.EQ)]
        assert any(
            isinstance(each.left, sqlglot.exp.Column) and isinstance(each.right, sqlglot.exp.Column) for each in same
        ), join
