"""Sorption: inverse and shape; the published values are in tests/published."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

import emcforecast
from emcforecast.physics.sorption import (
    cold_humidity,
    equilibrium_humidity,
    equilibrium_moisture_content,
)

temperatures = st.floats(-30.0, 60.0)
humidities = st.floats(0.0, 100.0)


@given(temperatures, humidities, humidities)
def test_emc_rises_with_humidity(t: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert equilibrium_moisture_content(t, low) <= equilibrium_moisture_content(t, high)


@given(temperatures)
def test_bone_dry_air_rests_at_nothing(t: float) -> None:
    assert float(equilibrium_moisture_content(t, 0.0)) == 0.0


@given(temperatures, humidities)
def test_inverse_round_trips(t: float, rh: float) -> None:
    mc = equilibrium_moisture_content(t, rh)
    assert float(equilibrium_humidity(t, mc)) == pytest.approx(rh, abs=1e-8)


@given(temperatures, humidities)
def test_hysteresis_keeps_its_order_and_ratio(t: float, rh: float) -> None:
    # Wetting over drying about 0.85 (Wood Handbook ch. 4, recalled).
    wetting = float(equilibrium_moisture_content(t, rh, "wetting"))
    mid = float(equilibrium_moisture_content(t, rh))
    drying = float(equilibrium_moisture_content(t, rh, "drying"))
    assert wetting <= mid <= drying
    assert wetting == pytest.approx(0.85 * drying, rel=1e-9, abs=1e-12)


def test_frost_is_held_at_the_coldest_row() -> None:
    # Below the table's coldest row (30 °F) the polynomials turn over: an artefact.
    assert equilibrium_moisture_content(-30.0, 80.0) == equilibrium_moisture_content(
        -1.1, 80.0
    )


def test_nan_in_nan_out() -> None:
    assert np.isnan(equilibrium_moisture_content([np.nan, 1.0], [50.0, np.nan])).all()
    assert np.isnan(equilibrium_humidity([np.nan, 1.0], [10.0, np.nan])).all()


def test_scalar_array_and_labelled_agree() -> None:
    t, rh = np.array([5.0, 20.0]), np.array([80.0, 40.0])
    labelled = emcforecast.equilibrium_moisture_content(
        xr.DataArray(t, dims="time"), xr.DataArray(rh, dims="time")
    )
    plain = emcforecast.equilibrium_moisture_content(t, rh)
    scalars = [
        emcforecast.equilibrium_moisture_content(*p) for p in zip(t, rh, strict=True)
    ]
    assert labelled.attrs["units"] == "%"
    np.testing.assert_array_equal(labelled.values, plain)
    np.testing.assert_array_equal(scalars, plain)
    assert isinstance(scalars[0], float)


def test_the_colds_offset_is_what_a_later_relation_has() -> None:
    """At 80 %, 1.7 % MC at 0 °C and 1.0 at 10 °C (second hand); none when warm."""
    t = np.array([0.0, 10.0, 25.0, 40.0])
    printed = equilibrium_moisture_content(t, 80.0)
    later = equilibrium_moisture_content(t, cold_humidity(t, 80.0, 1.0))
    assert later - printed == pytest.approx([1.7, 1.0, 0.0, 0.0], abs=0.05)
    half = equilibrium_moisture_content(t, cold_humidity(t, 80.0, 0.5))
    assert half[0] - printed[0] == pytest.approx(0.85, abs=0.05)
    assert cold_humidity(0.0, [0.0, 100.0], 1.0).tolist() == [0.0, 100.0]


@given(temperatures, humidities, st.floats(0.0, 1.0))
def test_the_colds_offset_never_dries(t: float, rh: float, share: float) -> None:
    assert rh - 1e-12 <= float(cold_humidity(t, rh, share)) <= 100.0
    assert float(cold_humidity(t, rh, 0.0)) == pytest.approx(rh, abs=1e-12)
