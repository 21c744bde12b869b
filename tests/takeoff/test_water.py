"""Pressure of standing water."""

import pytest

from analytics.errors import LeakbackError
from analytics.takeoff.water import head_kpa, head_psi


def test_water_against_a_full_wall() -> None:
    # Arithmetic: 9.81 kPa/m; 2.4 m → 23.54 kPa = 3.415 psi.
    assert head_kpa(1) == pytest.approx(9.81)
    assert head_kpa(2.4) == pytest.approx(23.54, abs=0.005)
    assert head_psi(2.4) == pytest.approx(3.415, abs=0.0005)


@pytest.mark.parametrize("height_m", [0.0, -2.4])
def test_no_water_has_no_head(height_m: float) -> None:
    with pytest.raises(LeakbackError, match="height_m is"):
        head_psi(height_m)
