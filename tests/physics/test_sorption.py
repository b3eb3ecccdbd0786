"""Sorption: rules of thumb, inverse, shape; the published table is in tests/world."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

import emcforecast
from emcforecast.physics.sorption import (
    equilibrium_humidity,
    equilibrium_moisture_content,
)

temperatures = st.floats(-30.0, 60.0)
humidities = st.floats(0.0, 100.0)


@pytest.mark.parametrize(
    ("rh", "mc", "tolerance"),
    # Rules of thumb of an extension specialist at room temperature (trade press,
    # read): whole percents, so half a percent either way.
    [(30.0, 6.0, 0.5), (50.0, 9.0, 0.5), (65.0, 12.0, 0.5), (80.0, 16.0, 0.5)],
)
def test_rules_of_thumb(rh: float, mc: float, tolerance: float) -> None:
    assert float(equilibrium_moisture_content(21.1, rh)) == pytest.approx(
        mc, abs=tolerance
    )


@pytest.mark.parametrize(
    ("t_f", "rh", "mc"),
    # Penn State Extension at 80 °F 75 % and 70 °F 40 %, and the Fahrenheit equation at
    # 140 °F 55 % (all read; printed to 0.1, the first is the source's rounding up).
    [(80.0, 75.0, 14.3), (70.0, 40.0, 7.7), (140.0, 55.0, 8.4)],
)
def test_quoted_values(t_f: float, rh: float, mc: float) -> None:
    value = float(equilibrium_moisture_content((t_f - 32) / 1.8, rh))
    assert value == pytest.approx(mc, abs=0.15)


@pytest.mark.parametrize(
    ("outdoors", "mc"), [(-10, 6.2), (0, 7.7), (10, 9.3), (20, 10.8)]
)
def test_indoor_design_climate(outdoors: float, mc: float) -> None:
    # EN 15026 annex C (recalled): 20 °C below 10 °C outdoors, rising to 25 °C at
    # 20 °C; 30 % at -10 °C outdoors, rising to 60 % at 20 °C.
    t = np.interp(outdoors, [10, 20], [20, 25])
    rh = np.interp(outdoors, [-10, 20], [30, 60])
    assert float(equilibrium_moisture_content(t, rh)) == pytest.approx(mc, abs=0.1)


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
