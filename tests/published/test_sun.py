"""Sun and clear sky against a solar library and a published example."""

import numpy as np
import pandas as pd
import pytest
from outside import PublishedCheck, Record

from emcforecast.physics import sun

SOURCE = PublishedCheck(
    what=(
        "height and strength of the sun, clear sky, sun from the day's range of "
        "temperature"
    ),
    source=(
        "pvlib (solar position, extraterrestrial, Haurwitz); FAO-56 equations 21 and "
        "50, Example 15"
    ),
    provenance="memory",
    kind="foretold",
    tolerance="0.006 of the cosine, 0.2 % above the air, 6 W/m², 0.5 and 0.4 MJ/m²",
    why=(
        "what Spencer's series leaves in leap years, three looks an hour against "
        "sixty, the example's digits"
    ),
)


PLACES = [(61.5, 24.0), (45.0, -93.0), (25.8, -80.3), (-33.9, 151.2), (0.0, 0.0)]


HOURS = np.arange("2019-01-01", "2021-01-01", 7, dtype="datetime64[h]")


@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
def test_sun_stands_where_pvlib_says(
    latitude: float, longitude: float, record_reached: Record
) -> None:
    pvlib = pytest.importorskip("pvlib")
    times = pd.DatetimeIndex(HOURS, tz="UTC")
    zenith = pvlib.solarposition.get_solarposition(times, latitude, longitude)["zenith"]
    due = np.cos(np.radians(zenith.to_numpy()))
    mine = sun.sun_height(HOURS, latitude, longitude)
    # 0.3° of height, what Spencer's series leaves in leap years
    away = np.abs(mine - due).max()
    record_reached("cosine of the zenith angle", away)
    assert away < 0.006


def test_sun_above_the_air_is_pvlibs(record_reached: Record) -> None:
    pvlib = pytest.importorskip("pvlib")
    days = np.arange("2019-01-01", "2020-01-01", dtype="datetime64[D]")
    noon = days.astype("datetime64[h]") + np.timedelta64(12, "h")
    mine = sun.extraterrestrial(noon, 0.0, 0.0)
    height = np.mean(
        [sun.sun_height(noon + np.timedelta64(m, "m"), 0.0, 0.0) for m in (10, 30, 50)],
        axis=0,
    )
    facing = pvlib.irradiance.get_extra_radiation(np.arange(1, 366))
    away = np.abs(mine / height / facing - 1.0).max()
    record_reached("sun above the air, share", away)
    assert away < 0.002


def test_clear_sky_is_pvlibs_haurwitz(record_reached: Record) -> None:
    pvlib = pytest.importorskip("pvlib")
    minutes = np.arange("2019-06-01", "2019-06-04", dtype="datetime64[m]")
    zenith = np.degrees(np.arccos(sun.sun_height(minutes, 45.0, 7.0)))
    each = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    hours = np.arange("2019-06-01", "2019-06-04", dtype="datetime64[h]")
    mine = sun.clear_sky(hours, 45.0, 7.0)
    # three looks an hour against sixty
    away = np.abs(mine - each.reshape(-1, 60).mean(axis=1)).max()
    record_reached("clear sky, W/m²", away)
    assert away < 6.0


def test_sun_from_daily_range_is_fao_56(record_reached: Record) -> None:
    """FAO-56 equation 50 with its own extraterrestrial sun (equation 21).

    Its Example 15 (from memory) has Lyon in July with a range of 26.6 - 14.8 K: R_a
    40.6 and R_s 22.3 MJ/m² a day.
    """
    july = np.arange("2021-07-15", "2021-07-16", dtype="datetime64[h]")
    above = sun.extraterrestrial(july, 45.72, 5.08).sum() * 3600.0 / 1e6
    record_reached("FAO-56 sun above the air, MJ/m² a day", above - 40.6)
    assert above == pytest.approx(40.6, abs=0.5)
    estimate = sun.sun_from_daily_range(july, 26.6 - 14.8, 45.72, 5.08, 0.16)
    found = estimate.sum() * 3600.0 / 1e6
    record_reached("FAO-56 sun by the day's range, MJ/m² a day", found - 22.3)
    assert found == pytest.approx(22.3, abs=0.4)
