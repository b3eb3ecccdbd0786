"""The air at the wood: every kind, every switch, every fallback."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.report.storage import fallback_words
from emcforecast.storage.air import air_in
from emcforecast.storage.drivers import Fallback, FallbackKind, drivers_of, fallbacks_of
from emcforecast.storage.kinds import KINDS
from emcforecast.weather.series import make_series


def emc_of(air: xr.Dataset) -> np.ndarray:
    return equilibrium_moisture_content(
        air.air_temperature.to_numpy(), air.relative_humidity.to_numpy()
    )


def pressure_of(air: xr.Dataset) -> np.ndarray:
    return vapour_pressure(
        air.air_temperature.to_numpy(), air.relative_humidity.to_numpy()
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_keeps_the_contract(kind: str, year: xr.Dataset) -> None:
    air = air_in(year, kind)
    assert (air.time == year.time).all()
    assert air.air_temperature.attrs["units"] == "degC"
    assert air.relative_humidity.attrs["units"] == "%"
    assert np.isfinite(air.air_temperature).all()
    assert float(air.relative_humidity.min()) > 0.0
    assert float(air.relative_humidity.max()) <= 100.0 + 1e-9
    assert air.attrs["kind"] == kind
    assert air.attrs["setting"] == KINDS[kind].setting
    assert 1e-4 < air.attrs["surface_transfer"] < 1e-2
    assert air.attrs["latitude"] == 48.0
    assert ("precipitation" in air) == (kind == "stack")
    assert (air.attrs["rain_film"] > 0.0) == (kind == "stack")


@pytest.mark.parametrize("kind", KINDS)
def test_missing_hours_stay_missing(kind: str, year: xr.Dataset) -> None:
    weather = year.isel(time=slice(0, 2000)).copy(deep=True)
    weather["relative_humidity"][500:503] = np.nan
    air = air_in(weather, kind)
    assert np.flatnonzero(np.isnan(air.relative_humidity)).tolist() == [500, 501, 502]


def test_open_places_are_outdoors_and_closed_ones_are_not(year: xr.Dataset) -> None:
    outside = emc_of(year).mean()
    means = {kind: emc_of(air_in(year, kind)).mean() for kind in KINDS}
    assert means["stack-roof"] == pytest.approx(outside, abs=0.2)
    assert outside > means["shed"] > means["loft"]
    assert means["loft"] > means["house"] > means["dry-room"]


def test_stack_switches(year: xr.Dataset) -> None:
    plain = air_in(year, "stack", night_cooling="off", ground_damp="off")
    assert np.abs(plain.air_temperature - year.air_temperature).max() < 1e-12
    assert np.abs(plain.relative_humidity - year.relative_humidity).max() < 1e-9
    top = air_in(year, "stack", course="top")
    colder = (top.air_temperature - year.air_temperature).to_numpy()
    night = year.shortwave.to_numpy() == 0.0
    # a board facing a clear sky is a few kelvin colder than the air (frost on boards
    # with the air above 0 °C: common experience, no source) and warm in the sun
    assert -6.0 < colder[night].min() < -1.0
    assert colder[~night].max() > 5.0
    bottom = air_in(year, "stack", course="bottom")
    assert emc_of(bottom).mean() > emc_of(plain).mean()
    dry = air_in(year, "stack", course="bottom", ground_damp="off")
    assert emc_of(dry).mean() == pytest.approx(emc_of(plain).mean(), abs=1e-9)
    no_rain = air_in(year, "stack", rain="off")
    assert "precipitation" not in no_rain
    assert no_rain.attrs["rain_film"] == 0.0


def _lit(t: float, rh: float, **columns: float) -> xr.Dataset:
    """Forty equal days of March at 45° north, every hour the same."""
    hours = 960
    return make_series(
        np.datetime64("2001-03-01", "h") + np.arange(hours),
        {
            name: np.full(hours, value)
            for name, value in {
                "air_temperature": t,
                "relative_humidity": rh,
                "wind_speed": 5.0,
                "precipitation": 0.0,
                **columns,
            }.items()
        },
        step="hour",
        kind="observed",
        source="even weather",
        latitude=45.0,
        longitude=0.0,
    )


@pytest.mark.parametrize("kind", ["loft", "barn"])
def test_warmth_under_a_board_roof_by_hand(kind: str) -> None:
    """15 °C, 60 %, 3 m/s at the building and 300 W/m² in every hour."""
    weather = _lit(15.0, 60.0, shortwave=300.0)
    drivers = drivers_of(weather)
    loss, radiative = (drivers.column(n)[-1] for n in ("sky_loss", "radiative"))
    # A board roof: 0.75 of the sun taken up, 0.55 of the sky seen, 2 W/m²K.
    film = 2.8 + 3.0 * 3.0 + 0.55 * radiative
    heat = 2.0 * (0.75 * 300.0 - 0.55 * loss) / film
    # 1200 J/m³K of air; the loft 2 m high with 5 + 1 per m/s changes an hour, walls
    # 1 W/m²K; the barn 2.7 m with 1 + 1.1 per m/s, walls 3, a slab 1 with the ground
    # at the air's 15 °C.
    per_change = 1200.0 / 3600.0
    if kind == "barn":
        warmer = heat / (2.0 + 3.0 + 1.0 + per_change * 2.7 * (1.0 + 1.1 * 3.0))
    else:
        still = 2.0 + 1.0 + per_change * 2.0 * (5.0 + 1.0 * 3.0)
        warmer = 1.0
        for _ in range(60):
            warmer = heat / (still + per_change * 2.0 * 1.5 * np.sqrt(warmer))
    air = air_in(weather, kind)
    assert float(air.air_temperature[-1]) == pytest.approx(15.0 + warmer, abs=0.05)


def test_a_workshop_is_kept_at_thirteen_degrees() -> None:
    air = air_in(_lit(-5.0, 80.0, shortwave=0.0), "workshop")
    assert float(air.air_temperature[-1]) == pytest.approx(13.0, abs=1e-6)


def test_damp_from_an_earth_floor_by_hand() -> None:
    """Vapour in with the air and off the ground leaves with the air."""
    air = air_in(_lit(15.0, 60.0, shortwave=0.0), "barn,floor=earth,buffer_store=0.05")
    outside, ground = 0.60 * 1704.0, 1704.0
    kelvin = 273.15 + 15.0
    # 4.3 changes an hour of 2.7 m; the ground gives 5e-10 kg/m²sPa
    with_air = (1.0 + 1.1 * 3.0) * 2.7 / 3600.0 / (461.5 * kelvin)
    due = (with_air * outside + 5.0e-10 * ground) / (with_air + 5.0e-10)
    assert float(pressure_of(air)[-1]) == pytest.approx(due, rel=0.002)


def test_damp_at_the_bottom_course_by_hand() -> None:
    """A twentieth of the air at the bottom course is air of the ground, at 15 °C."""
    bottom = air_in(_lit(15.0, 60.0, shortwave=0.0), "stack-roof,course=bottom")
    assert float(bottom.relative_humidity[-1]) == pytest.approx(
        60.0 + 0.05 * 40.0, abs=0.05
    )


def test_a_single_course_meets_the_weather(year: xr.Dataset) -> None:
    air = air_in(year, "stack,course=single")
    assert np.abs(air.air_temperature - year.air_temperature).max() < 1e-12
    assert np.abs(air.relative_humidity - year.relative_humidity).max() < 1e-9
    # measured sticks: 8 mm/s, and a film of 0.10 kg/m² over all of it
    assert air.attrs["surface_transfer"] == pytest.approx(8.0e-3)
    assert air.attrs["rain_film"] == pytest.approx(0.10)
    assert air_in(year, "stack").attrs["rain_film"] == pytest.approx(0.05)


def test_words_change_what_they_say(year: xr.Dataset) -> None:
    tight = "barn,ventilation=0.3,wind_ventilation=0.2"
    earth = air_in(year, tight, floor="earth")
    slab = air_in(year, tight, floor="slab")
    assert pressure_of(earth).mean() > pressure_of(slab).mean() + 20.0
    metal = air_in(year, "loft", roof="metal").air_temperature
    board = air_in(year, "loft", roof="board").air_temperature
    noon = year.shortwave > 400.0
    assert float((metal - board).where(noon).mean()) > 0.5


def test_cabin_is_warm_in_season_only(year: xr.Dataset) -> None:
    t = air_in(year, "cabin").air_temperature
    month = t.time.dt.month
    assert float(t.where((month >= 5) & (month <= 9)).quantile(0.01)) > 18.5
    assert float(t.where(month == 1).mean()) < 5.0
    winter = air_in(year, "cabin", used_from=11, used_to=2).air_temperature
    assert float(winter.where(month == 1).mean()) > 18.5
    frost = air_in(year, "cabin", heat_away=5.0).air_temperature
    assert float(frost.min()) > 4.5


def test_dryer_with_capacity(year: xr.Dataset) -> None:
    strong = air_in(year, "dry-room", dehumidifier_capacity=50.0)
    assert float(strong.relative_humidity.max()) < 45.01
    weak = air_in(year, "dry-room", dehumidifier_capacity=0.05)
    assert float(weak.relative_humidity.max()) > 46.0


def test_set_points_by_season(year: xr.Dataset) -> None:
    air = air_in(year, "house", heat_to=18.0, heat_to_summer=23.0)
    month = air.time.dt.month
    winter = float(air.air_temperature.where(month == 1).mean())
    summer = float(air.air_temperature.where(month == 7).min())
    assert winter == pytest.approx(18.0, abs=0.6)
    assert summer > 22.0


@settings(max_examples=15, deadline=None)
@given(heat=st.floats(15.0, 25.0), gain=st.floats(0.0, 6.0))
def test_warmer_is_drier_and_more_vapour_is_damper(heat: float, gain: float) -> None:
    weather = _even(2.0, 85.0)
    cool = air_in(weather, "house", heat_to=heat, moisture_gain=gain)
    warm = air_in(weather, "house", heat_to=heat + 2.0, moisture_gain=gain)
    damp = air_in(weather, "house", heat_to=heat, moisture_gain=gain + 1.0)
    assert emc_of(warm)[-1] < emc_of(cool)[-1] < emc_of(damp)[-1]


def _even(t: float, rh: float, hours: int = 960, **place: float) -> xr.Dataset:
    return make_series(
        np.datetime64("2001-01-10", "h") + np.arange(hours),
        {
            "air_temperature": np.full(hours, t),
            "relative_humidity": np.full(hours, rh),
        },
        step="hour",
        kind="observed",
        source="even weather",
        **place,
    )


def test_what_is_missing_is_said(year: xr.Dataset) -> None:
    assert fallbacks_of(air_in(year, "shed")) == ()
    bare = year.drop_vars(["wind_speed", "shortwave", "precipitation"])
    for name in ("latitude", "longitude", "utc_offset"):
        bare.attrs.pop(name)
    said = " ".join(fallback_words(fallbacks_of(air_in(bare, "outdoor"))))
    for words in ("No sun", "No wind", "3 m/s", "45° north", "No rain", "bare of snow"):
        assert words in said


def test_sun_of_an_unknown_place_rises_with_its_days(year: xr.Dataset) -> None:
    bare = year.drop_vars(["shortwave"])
    for name in ("latitude", "longitude", "utc_offset"):
        bare.attrs.pop(name)
    sun = drivers_of(bare).column("sun").reshape(-1, 24).mean(axis=0)
    # the made year is warmest at 15 h, so noon is found at 12 h UTC
    assert abs(np.average(np.arange(24) + 0.5, weights=sun) - 12.0) < 0.6
    south = bare.copy()
    south["air_temperature"] = ("time", np.roll(bare.air_temperature, 4380))
    assert Fallback(FallbackKind.PLACE, taken=-45.0) in drivers_of(south).fallbacks


def test_sun_estimated_from_range_is_near_the_measured(building) -> None:  # type: ignore[no-untyped-def]
    """FAO-56's estimate against a year and more of measured sun."""
    house = building("A")
    guess = drivers_of(house.weather.drop_vars("shortwave")).column("sun")
    true = house.weather.shortwave.to_numpy()
    assert guess.mean() == pytest.approx(true.mean(), rel=0.2)
    days = slice(0, guess.size // 24 * 24)
    a, b = (x[days].reshape(-1, 24).mean(axis=1) for x in (guess, true))
    assert np.corrcoef(a, b)[0, 1] > 0.85


def test_short_partly_missing_series_still_works() -> None:
    weather = _even(5.0, 80.0, hours=30)
    weather["wind_speed"] = ("time", np.full(30, np.nan), {"units": "m s-1"})
    air = air_in(weather, "loft")
    assert np.isfinite(air.air_temperature).all()
    assert FallbackKind.WIND in [one.kind for one in fallbacks_of(air)]


def test_monthly_weather_is_refused(year: xr.Dataset) -> None:
    monthly = year.resample(time="MS").mean(keep_attrs=True).assign_attrs(step="month")
    with pytest.raises(WeatherError, match="monthly"):
        air_in(monthly, "shed")


def test_start_is_settled(year: xr.Dataset) -> None:
    """Two years of the same weather: the second is like the first from its start."""
    time = np.arange("2001-01-01", "2003-01-01", dtype="datetime64[h]")
    twice = {str(k): np.tile(v.to_numpy(), 2) for k, v in year.data_vars.items()}
    weather = make_series(
        time, twice, step="hour", kind="observed", source="twice", latitude=48.0,
        longitude=0.0,
    )  # fmt: skip
    emc = emc_of(air_in(weather, "house"))
    assert np.abs(emc[:720] - emc[8760 : 8760 + 720]).max() < 0.05


def test_snow_keeps_a_roof_from_sun_and_sky(year: xr.Dataset) -> None:
    bare = air_in(year.drop_vars("precipitation"), "attic").air_temperature
    snowy = year.copy(deep=True)
    snowy["air_temperature"] -= 12.0
    cold = air_in(snowy, "attic").air_temperature
    naked = air_in(snowy.drop_vars("precipitation"), "attic").air_temperature
    january = cold.time.dt.month == 1
    swing = [x.where(january).groupby("time.day").std().mean() for x in (cold, naked)]
    assert float(swing[0]) < float(swing[1])
    assert np.isfinite(bare).all()


def test_a_series_changed_in_place_is_worked_out_anew(year: xr.Dataset) -> None:
    weather = year.isel(time=slice(0, 2000)).copy(deep=True)
    before = drivers_of(weather).column("air_temperature").copy()
    weather["air_temperature"][:] += 1.0
    after = drivers_of(weather).column("air_temperature")
    np.testing.assert_allclose(after - before, 1.0)
    sky = drivers_of(weather).column("sky_loss").copy()
    weather.attrs["longitude"] = 120.0
    assert not np.array_equal(drivers_of(weather).column("sky_loss"), sky)


def test_the_sun_of_a_southern_store_stands_high_in_december() -> None:
    # No sun measured, the same steady day all year: what warms a roof is the height of
    # the sun alone. At 40° it stands at 73° in midsummer and at 27° in midwinter.
    hour = np.datetime64("2021-01-01T00") + np.arange(365 * 24)
    daily = 15.0 + 6.0 * np.cos(2.0 * np.pi * (np.arange(hour.size) % 24 - 14) / 24)
    gained = {}
    for latitude in (-40.0, 40.0):
        weather = make_series(
            hour,
            {
                "air_temperature": daily,
                "relative_humidity": np.full(hour.size, 60.0),
            },
            step="hour", kind="observed", source="steady days",
            latitude=latitude, longitude=0.0,
        )  # fmt: skip
        warmer = air_in(weather, "loft").air_temperature.to_numpy() - daily
        month = hour.astype("datetime64[M]").astype(int) % 12 + 1
        gained[latitude] = [float(warmer[month == m].mean()) for m in (6, 12)]
    north, south = gained[40.0], gained[-40.0]
    assert north[0] > 2.0 * north[1]
    assert south[1] > 2.0 * south[0]
    # The mirror: the south's December is the north's June, to 3.5 % of the sun, which
    # is nearer in January.
    assert south[1] == pytest.approx(north[0], rel=0.1)
    assert south[0] == pytest.approx(north[1], rel=0.1)


def test_the_season_runs_from_the_coldest_to_the_warmest_day() -> None:
    # A year's wave, warmest 200 days in: 1 then, 0 half a year off, 1/2 between.
    hour = np.arange(2 * 8760)
    wave = 10.0 + 8.0 * np.cos(2.0 * np.pi * (hour - 4800) / 8766.0)
    weather = make_series(
        np.datetime64("2021-01-01T00") + hour,
        {"air_temperature": wave, "relative_humidity": np.full(hour.size, 70.0)},
        step="hour", kind="observed", source="a wave",
        latitude=45.0, utc_offset=-6.0,
    )  # fmt: skip
    season = drivers_of(weather).column("season")
    assert season[4800] == pytest.approx(1.0, abs=0.001)
    assert season[4800 - 4383] == pytest.approx(0.0, abs=0.001)
    assert season[4800 - 2191] == pytest.approx(0.5, abs=0.01)
    # Clocks 6 h behind Greenwich: 90° west, where the sun is highest at 18 h UTC, some
    # minutes aside for the equation of time.
    june = drivers_of(weather).column("sun")[172 * 24 : 173 * 24]
    assert int(np.argmax(june)) in (17, 18)
    lit = np.flatnonzero(june > 0.0)
    middle = (np.where(lit < 6, lit + 24, lit) + 0.5).mean()
    assert middle == pytest.approx(18.0, abs=0.6)


def test_measured_sun_is_taken_where_it_is_and_never_below_none() -> None:
    hour = np.arange(8760)
    sun = np.where(hour % 24 == 12, 500.0, -3.0)
    sun[5000:5024] = np.nan
    weather = make_series(
        np.datetime64("2021-01-01T00") + hour,
        {
            "air_temperature": np.full(hour.size, 15.0),
            "relative_humidity": np.full(hour.size, 70.0),
            "shortwave": sun,
        },
        step="hour", kind="observed", source="a sun at noon",
        latitude=45.0, longitude=0.0,
    )  # fmt: skip
    found = drivers_of(weather).column("sun")
    known = np.isfinite(sun)
    assert found[known] == pytest.approx(np.maximum(sun, 0.0)[known])
    assert (found[~known] >= 0.0).all()
