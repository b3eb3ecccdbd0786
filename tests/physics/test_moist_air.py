"""Moist air against two general libraries: IAPWS water and ASHRAE psychrometrics."""

import iapws
import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.physics.moist_air import (
    dew_point,
    relative_humidity,
    saturation_vapour_pressure,
    vapour_pressure,
    vapour_pressure_from_specific_humidity,
)

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("t", range(0, 61, 5))
def test_saturation_agrees_with_iapws(t: int) -> None:
    # IAPWS-IF97, region 4. 0.35 % is what WMO's formula is good for here.
    reference = iapws.iapws97._PSat_T(max(t, 0.01) + 273.15) * 1e6
    assert float(saturation_vapour_pressure(t)) == pytest.approx(reference, rel=3.5e-3)


@pytest.mark.parametrize("t", range(1, 61, 5))
def test_saturation_agrees_with_ashrae(t: int) -> None:
    # ASHRAE Handbook, Fundamentals (2017), ch. 1, equation 6.
    reference = psychrolib.GetSatVapPres(float(t))
    assert float(saturation_vapour_pressure(t)) == pytest.approx(reference, rel=3.5e-3)


@given(st.floats(-40.0, 60.0))
def test_dew_point_round_trip(t: float) -> None:
    assert float(dew_point(saturation_vapour_pressure(t))) == pytest.approx(t, abs=0.02)


@pytest.mark.parametrize(("t", "rh"), [(30.0, 40.0), (20.0, 60.0), (10.0, 90.0)])
def test_dew_point_agrees_with_ashrae(t: float, rh: float) -> None:
    # ASHRAE Handbook, Fundamentals, through an iterative general library; the two
    # saturation formulas differ by up to 0.35 %, which is 0.06 K of dew point.
    reference = psychrolib.GetTDewPointFromRelHum(t, rh / 100.0)
    assert float(dew_point(vapour_pressure(t, rh))) == pytest.approx(
        reference, abs=0.06
    )


def test_specific_humidity_agrees_with_ashrae() -> None:
    q, p = 0.012, 95000.0
    ratio = psychrolib.GetHumRatioFromSpecificHum(q)
    reference = psychrolib.GetVapPresFromHumRatio(ratio, p)
    assert float(vapour_pressure_from_specific_humidity(q, p)) == pytest.approx(
        reference, rel=1e-4
    )


def test_warmed_fog_dries_as_the_trade_says() -> None:
    # Foggy air at 55 °F heated by 35 °F: "about 30 % RH" (trade press, read).
    e = vapour_pressure((55 - 32) / 1.8, 100.0)
    assert float(relative_humidity((90 - 32) / 1.8, e)) == pytest.approx(30.0, abs=1.0)


def test_nan_stays_nan() -> None:
    assert np.isnan(vapour_pressure([np.nan, 1.0], [50.0, np.nan])).all()
    assert np.isnan(dew_point([np.nan, 0.0, -1.0])).all()
