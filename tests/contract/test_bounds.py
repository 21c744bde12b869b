"""What an estimate may be asked for, at, under and over each bound."""

import math

import pytest

from analytics.contract.bounds import require_level, require_months
from analytics.errors import LeakbackError


@pytest.mark.parametrize("months", [-24, 0, 1201])
def test_months_that_no_crack_is_looked_at_over_are_refused(months: int) -> None:
    with pytest.raises(LeakbackError, match=f"^months are {months}: they must lie between 1 and 1200, such as 24$"):
        require_months(months)


@pytest.mark.parametrize("level", [-0.5, 0.0, 1.0, 95.0, math.nan, math.inf])
def test_a_level_that_no_interval_has_is_refused(level: float) -> None:
    with pytest.raises(LeakbackError, match=f"^level is {level:g}: it must lie between 0 and 1, such as 0.95$"):
        require_level(level)


def test_what_is_within_the_bounds_is_taken() -> None:
    for months in (1, 24, 1200):
        require_months(months)
    for level in (1e-9, 0.5, 0.95, 1 - 1e-9):
        require_level(level)
