"""Moist air: round trips, missing values; published ones are in tests/published."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.physics.moist_air import (
    dew_point,
    saturation_vapour_pressure,
    vapour_pressure,
)


@given(st.floats(-40.0, 60.0))
def test_dew_point_round_trip(t: float) -> None:
    assert float(dew_point(saturation_vapour_pressure(t))) == pytest.approx(t, abs=0.02)


def test_nan_stays_nan() -> None:
    assert np.isnan(vapour_pressure([np.nan, 1.0], [50.0, np.nan])).all()
    assert np.isnan(dew_point([np.nan, 0.0, -1.0])).all()


def test_dew_point_of_the_driest_air() -> None:
    # x = ln(0.5 / 611.2) = -7.1086; 243.12 x / (17.62 - x) = -69.89 °C.
    assert float(dew_point(0.5)) == pytest.approx(-69.89, abs=0.01)
