"""The door for weather in memory: what it converts, keeps and refuses."""

import time
from collections.abc import Callable
from pathlib import Path

import iapws
import numpy as np
import pandas as pd
import psychrolib
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

import emcforecast
from emcforecast import air_in, read_weather, running_emc, simulate, weather_series
from emcforecast.errors import WeatherError
from emcforecast.weather.accept import air_series
from emcforecast.weather.series import check_contract, make_series

HOURS = pd.date_range("2024-03-01", periods=72, freq="h")
T = 8.0 + 6.0 * np.sin(np.arange(72.0) / 4.0)
RH = 70.0 - 20.0 * np.sin(np.arange(72.0) / 4.0)


def table(**columns: object) -> pd.DataFrame:
    return pd.DataFrame({"temp_C": T, "rh_percent": RH, **columns}, HOURS)


@pytest.fixture(scope="module")
def demo() -> xr.Dataset:
    return read_weather("demo")


def best_of(times: int, call: Callable[[], object]) -> float:
    spent = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        spent.append(time.perf_counter() - begin)
    return min(spent)


def test_a_series_in_the_contract_is_returned_itself(demo: xr.Dataset) -> None:
    # Twelve years of five variables, by the hour: checked in well under a millisecond.
    assert weather_series(demo) is demo
    assert air_series(demo) is demo
    assert best_of(20, lambda: weather_series(demo)) < 1e-3
    loft = air_in(demo.isel(time=slice(0, 2000)), "loft")
    assert air_series(loft) is loft


def test_other_attributes_need_no_other_numbers(demo: xr.Dataset) -> None:
    moved = weather_series(demo, latitude=10.0, source="elsewhere")
    assert (moved.attrs["latitude"], moved.attrs["source"]) == (10.0, "elsewhere")
    assert demo.attrs["source"] != "elsewhere"
    assert np.shares_memory(
        moved["air_temperature"].to_numpy(), demo["air_temperature"].to_numpy()
    )


@pytest.mark.parametrize(
    ("unit", "values"),
    [
        ("degC", T),
        ("K", T + 273.15),
        ("kelvin", T + 273.15),
        ("degF", T * 1.8 + 32.0),
        ("°F", T * 1.8 + 32.0),
    ],
)
def test_temperatures(unit: str, values: np.ndarray) -> None:
    frame = table().drop(columns="temp_C").assign(air_temperature=values)
    found = weather_series(frame, units={"air_temperature": unit})
    np.testing.assert_allclose(found["air_temperature"], T, atol=1e-12)
    check_contract(found)


@pytest.mark.parametrize(
    ("column", "unit", "factor"),
    [
        ("precipitation", "mm", 1.0),
        ("precipitation", "m", 1000.0),
        ("precipitation", "in", 25.4),
        ("precipitation", "kg m-2", 1.0),
        ("precipitation", "kg m-2 s-1", 3600.0),
        ("wind_speed", "m/s", 1.0),
        ("wind_speed", "m s-1", 1.0),
        ("wind_speed", "km/h", 1.0 / 3.6),
        ("wind_speed", "mph", 0.44704),
        ("wind_speed", "kn", 1852.0 / 3600.0),
        ("shortwave", "W/m2", 1.0),
        ("shortwave", "W m-2", 1.0),
        ("shortwave", "J/m2", 1.0 / 3600.0),
        ("shortwave", "MJ m-2", 1e6 / 3600.0),
    ],
)
def test_rain_wind_and_sun(column: str, unit: str, factor: float) -> None:
    want = np.linspace(1.0, 9.0, 72)
    found = weather_series(
        table(**{column: want / factor}), units={column: unit}, source="a station"
    )
    # Rows are of the hour that begins at their time, amounts too.
    np.testing.assert_allclose(found[column], want, rtol=2e-6)


@pytest.mark.parametrize("unit", ["Pa", "hPa", "kPa"])
def test_vapour_pressure_against_iapws(unit: str) -> None:
    # IAPWS-IF97 saturation line; WMO's formula, which the package uses, is within
    # 0.35 % of it from 0 to 60 °C (tests/physics/test_moist_air.py): 0.21 of 60 % RH.
    t = np.linspace(1.0, 35.0, 72)
    saturated = np.array([1e6 * iapws.iapws97._PSat_T(v + 273.15) for v in t])
    scale = {"Pa": 1.0, "hPa": 1e-2, "kPa": 1e-3}[unit]
    frame = pd.DataFrame({"temp_C": t, "vapour_pressure": scale * 0.6 * saturated})
    found = weather_series(frame.set_index(HOURS), units={"vapour_pressure": unit})
    np.testing.assert_allclose(found["relative_humidity"], 60.0, atol=0.21)


@pytest.mark.parametrize("unit", ["degC", "K", "degF"])
def test_dew_point_against_psychrolib(unit: str) -> None:
    # ASHRAE Handbook (2017) chapter 1, equations 5 and 6; water, so above freezing.
    psychrolib.SetUnitSystem(psychrolib.SI)
    dry_bulb = np.linspace(5.0, 35.0, 72)
    dew = dry_bulb - np.linspace(0.0, 4.9, 72)
    want = [
        100.0 * psychrolib.GetRelHumFromTDewPoint(a, b)
        for a, b in zip(dry_bulb, dew, strict=True)
    ]
    given_dew = {"degC": dew, "K": dew + 273.15, "degF": dew * 1.8 + 32.0}[unit]
    frame = pd.DataFrame({"temp_C": dry_bulb, "dew_point": given_dew}, HOURS)
    found = weather_series(frame, units={"dew_point": unit})
    np.testing.assert_allclose(found["relative_humidity"], want, atol=0.1)


@settings(max_examples=25, deadline=None)
@given(
    hnp.arrays(float, 48, elements=st.floats(-40.0, 45.0)),
    hnp.arrays(float, 48, elements=st.floats(2.0, 100.0)),
)
def test_units_make_no_difference(t: np.ndarray, rh: np.ndarray) -> None:
    hours = HOURS[:48]
    plain = weather_series(
        pd.DataFrame({"temp_C": t, "rh": rh}, hours), units={"rh": "%"}
    )
    other = xr.Dataset(
        {
            "t2m": ("valid_time", t + 273.15, {"units": "K"}),
            "hurs": ("valid_time", rh / 100.0, {"units": "1"}),
        },
        {"valid_time": hours.to_numpy()},
    )
    found = weather_series(other)
    for name in ("air_temperature", "relative_humidity"):
        np.testing.assert_allclose(found[name], plain[name], atol=1e-9)
    np.testing.assert_array_equal(found["time"], plain["time"])


def test_the_time_zone_of_the_index_is_turned_to_utc() -> None:
    local = table().tz_localize("UTC").tz_convert("America/New_York")
    found = weather_series(local)
    np.testing.assert_array_equal(found["time"], HOURS.to_numpy())
    xr.testing.assert_equal(found, weather_series(table()))


def test_units_in_the_attributes_of_a_frame() -> None:
    frame = pd.DataFrame({"a": T + 273.15, "rh": RH, "note": "fine"}, HOURS)
    frame.attrs = {"units": {"a": "K", "rh": "%"}, "source": "a shed", "latitude": 45.0}
    found = weather_series(frame, columns={"air_temperature": "a"}, kind="logger")
    np.testing.assert_allclose(found["air_temperature"], T)
    assert found.attrs["source"] == "a shed"
    assert found.attrs["kind"] == "logger"
    assert found.attrs["latitude"] == 45.0


def test_missing_stays_missing_and_a_little_over_100_is_held() -> None:
    frame = table()
    frame.iloc[3, 0] = np.nan
    frame.iloc[5, 1] = 103.0
    found = weather_series(frame)
    assert np.isnan(found["air_temperature"].to_numpy()[3])
    assert int(np.isnan(found["air_temperature"]).sum()) == 1
    assert found["relative_humidity"].to_numpy()[5] == 100.0
    assert found.attrs["repairs"]


def test_months_are_a_series_too() -> None:
    months = pd.date_range("2023-01-01", periods=14, freq="MS")
    frame = pd.DataFrame({"temp_C": T[:14], "rh_percent": RH[:14]}, months)
    found = weather_series(frame)
    assert found.attrs["step"] == "month"
    assert "time: mean" in found["air_temperature"].attrs["cell_methods"]


def broken(change: Callable[[pd.DataFrame], pd.DataFrame]) -> pd.DataFrame:
    return change(table())


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (broken(lambda f: f.iloc[::-1]), r"not in order .*sort_index"),
        (broken(lambda f: pd.concat([f, f.iloc[-1:]])), "comes twice"),
        (broken(lambda f: f.drop(f.index[7])), "hours are left out .1, the first"),
        (broken(lambda f: f.set_index(HOURS + pd.Timedelta("30min"))), "on the hour"),
        (broken(lambda f: f.resample("10min").ffill()), "10 minutes apart"),
        (broken(lambda f: f.iloc[::3]), "rows are 3 hours apart"),
        (broken(lambda f: f.iloc[::24]), "rows are 1 days apart"),
        (broken(lambda f: f.iloc[:1]), "1 time"),
        (broken(lambda f: f.reset_index(drop=True)), "a DatetimeIndex in UTC"),
        (
            broken(
                lambda f: f.iloc[:5].set_index(HOURS[:4].append(pd.to_datetime([None])))
            ),
            "rows without a time",
        ),
        (
            broken(
                lambda f: f.iloc[:5].set_index(
                    pd.date_range("2024-01-31", periods=5, freq="ME")
                )
            ),
            "stamped on their first day",
        ),
        (broken(lambda f: f.rename(columns={"temp_C": "temp"})), "'temp': 'degC'"),
        (broken(lambda f: f.assign(temp_C=f["temp_C"] + 273.15)), "says 'degC' but"),
        (
            broken(
                lambda f: f.assign(temp_C=f["temp_C"].where(f.index.hour > 0, 99.0))
            ),
            "99",
        ),
        (broken(lambda f: f.assign(rh_percent=f["rh_percent"] / 100.0)), "says % but"),
        (
            broken(lambda f: f.assign(rh_percent=f["rh_percent"] * 1.4)),
            "check its unit",
        ),
        (broken(lambda f: f.assign(wind_mph=-1.0)), "outside 0 to 75"),
        (broken(lambda f: f.assign(temp_F=50.0)), "several columns may be"),
        (
            broken(lambda f: f.drop(columns="rh_percent")),
            "no column tells the humidity",
        ),
        (broken(lambda f: f.drop(columns="temp_C")), "as the air temperature"),
        (
            broken(lambda f: f.drop(columns="rh_percent").assign(dew_point_C=30.0)),
            "cannot be|impossible",
        ),
        (
            broken(lambda f: f.astype({"rh_percent": str})),
            "'rh_percent' holds .* not num",
        ),
        ({"temp": [1.0]}, "a Dataset or a DataFrame, not dict"),
        ("weather.csv", r"read_weather\(path\) reads files"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(data: object, why: str) -> None:
    with pytest.raises(WeatherError, match=why) as caught:
        weather_series(data)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 260


@pytest.mark.parametrize(
    ("units", "why"),
    [
        ({"temp_C": "furlong"}, "it should be in K, degC or degF"),
        ({"rh_percent": "hPa"}, "it should be in % or 1"),
        ({"rh_percent": "1"}, "said to be a fraction .'1'. but reaches"),
        ({"rain": "furlong"}, "'furlong', which is not known for it"),
        ({"sun": "W/m2"}, "units names 'sun'"),
    ],
)
def test_units_that_are_not_known_or_do_not_fit(
    units: dict[str, str], why: str
) -> None:
    with pytest.raises(WeatherError, match=why):
        weather_series(table(rain=1.0), units={"rain": "mm", **units})


def test_a_variable_without_units_is_not_guessed_at(demo: xr.Dataset) -> None:
    part = demo.isel(time=slice(0, 500)).copy()
    part["air_temperature"] = part["air_temperature"].drop_attrs()
    with pytest.raises(WeatherError, match="air_temperature does not say its unit"):
        weather_series(part)
    found = weather_series(part, units={"air_temperature": "degC"})
    xr.testing.assert_equal(found, demo.isel(time=slice(0, 500)))
    assert found.attrs["licence"] == demo.attrs["licence"]


def test_our_own_name_settles_which_of_two(demo: xr.Dataset) -> None:
    part = demo.isel(time=slice(0, 500))
    found = weather_series(part.assign(gust=3.0 * part["wind_speed"]))
    xr.testing.assert_equal(found, part)


def test_repairs_are_kept_and_odd_ones_refused(demo: xr.Dataset) -> None:
    capped = weather_series(table(rh_percent=RH.clip(max=100.0) + 11.0))
    assert "humidity capped" in capped.attrs["repairs"]
    warm = capped.assign(
        air_temperature=(capped["air_temperature"] + 273.15).assign_attrs(units="K")
    )
    assert weather_series(warm).attrs["repairs"] == capped.attrs["repairs"]
    with pytest.raises(WeatherError, match="attribute repairs is 3"):
        weather_series(warm.assign_attrs(repairs=3))


def test_a_step_that_contradicts_the_times(demo: xr.Dataset) -> None:
    with pytest.raises(WeatherError, match="says 'month', but there is a row for each"):
        weather_series(demo.assign_attrs(step="month"))


def test_a_grid_needs_a_place() -> None:
    shape = (72, 2, 3)
    grid = xr.Dataset(
        {
            "t2m": (("time", "latitude", "longitude"), np.full(shape, 283.15)),
            "rh": (("time", "latitude", "longitude"), np.full(shape, 60.0)),
        },
        {
            "time": HOURS.to_numpy(),
            "latitude": [45.0, 44.75],
            "longitude": [-75.5, -75.25, -75.0],
        },
    )
    units = {"t2m": "K", "rh": "%"}
    with pytest.raises(WeatherError, match=r"many places .along latitude, longitude"):
        weather_series(grid, units=units)
    found = weather_series(grid, units=units, latitude=44.8, longitude=-75.3)
    assert (found.attrs["latitude"], found.attrs["longitude"]) == (44.75, -75.25)
    point = weather_series(grid.isel(latitude=1, longitude=1), units=units)
    xr.testing.assert_equal(found, point)


def test_an_opened_file_is_read_as_read_weather_reads_it(tmp_path: Path) -> None:
    # Names and sums of a reanalysis: the hour before the stamp, in m and J/m2.
    rain = np.zeros(72)
    rain[10] = 0.002
    file = xr.Dataset(
        {
            "t2m": ("valid_time", T + 273.15, {"units": "K"}),
            "d2m": ("valid_time", T + 270.15, {"units": "K"}),
            "tp": ("valid_time", rain, {"units": "m"}),
            "ssrd": ("valid_time", np.full(72, 3.6e5), {"units": "J m**-2"}),
        },
        {"valid_time": HOURS.to_numpy(), "latitude": 45.0, "longitude": -75.0},
    )
    path = tmp_path / "reanalysis.nc"
    file.to_netcdf(path, engine="h5netcdf")
    read = read_weather(path, gaps="keep")
    with xr.open_dataset(path, engine="h5netcdf") as opened:
        found = weather_series(opened)
        xr.testing.assert_equal(found, read)
    assert float(found["precipitation"][9]) == pytest.approx(2.0)
    assert float(found["shortwave"][5]) == pytest.approx(100.0)


def test_every_door_takes_a_frame(demo: xr.Dataset) -> None:
    part = demo.isel(time=slice(0, 1500))
    frame = part.to_dataframe()
    frame.attrs = {
        "units": {str(name): part[name].attrs["units"] for name in part.data_vars},
        **{name: part.attrs[name] for name in ("latitude", "longitude", "utc_offset")},
    }
    air = air_in(frame, "loft")
    xr.testing.assert_equal(air, air_in(part, "loft"))
    board = emcforecast.Board("ash", "4/4")
    room = pd.DataFrame({"temp_C": T, "rh_percent": RH}, HOURS)
    path = simulate(room, board, 20.0)
    same = make_series(
        HOURS.to_numpy(),
        {"air_temperature": T, "relative_humidity": RH},
        step="hour",
        kind="logger",
        source="a room",
    )
    xr.testing.assert_equal(path, simulate(same, board, 20.0))
    xr.testing.assert_equal(running_emc(room, board), running_emc(same, board))
    for door in (
        lambda: simulate("a file", board),
        lambda: running_emc("a file", board),
        lambda: air_in("a file", "loft"),
        lambda: emcforecast.floor("a file"),
        lambda: emcforecast.dry("a file"),
        lambda: emcforecast.plan(
            "a file", stacked="2026-04-01", need="2027-01-01", target=9.0, have="shed"
        ),
        lambda: emcforecast.calibrate("a file", demo, "loft"),
        lambda: emcforecast.calibrate(part, "a file", "loft"),
    ):
        with pytest.raises(WeatherError, match="a Dataset or a DataFrame, not str"):
            door()


def test_an_air_with_hours_left_out_is_refused(demo: xr.Dataset) -> None:
    air = air_in(demo.isel(time=slice(0, 500)), "loft")
    with pytest.raises(WeatherError, match="rows are 2 hours apart"):
        simulate(air.isel(time=slice(0, None, 2)), emcforecast.Board("ash", "4/4"))
    warm = air.assign(air_temperature=air["air_temperature"].assign_attrs(units="K"))
    with pytest.raises(WeatherError, match="says 'K' but"):
        simulate(warm, emcforecast.Board("ash", "4/4"))


def test_floor_takes_settings_as_text(demo: xr.Dataset) -> None:
    year = demo.isel(time=slice(0, 2 * 8784))
    answer = emcforecast.floor(year, "ash", 19.0, {"shed": "loft,roof=metal"})
    again = emcforecast.floor(year, "ash", 19.0, ["shed=loft,roof=metal"])
    assert answer.settings["shed"].kind == "loft"
    assert answer.settings["shed"].lowest == again.settings["shed"].lowest
