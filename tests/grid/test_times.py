"""Every clock and calendar of gridded files, against cftime and hand-written dates."""

import cftime
import numpy as np
import pandas as pd
import pytest
import xarray as xr
from grid_files import Write, air

from emcforecast.errors import WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.weather.repairs import RepairKind, repairs_of


def stamped(values: object, units: str, **attrs: object) -> xr.Dataset:
    ds = air(np.asarray(values))
    ds["time"].attrs = {"units": units, **attrs}
    return ds


def starts(ds: xr.Dataset) -> list[str]:
    return [str(t)[:16] for t in ds["time"].to_numpy()]


@pytest.mark.parametrize(
    ("values", "units", "first", "step"),
    [
        (np.arange(5) / 24, "days since 2020-01-01", "2020-01-01T00:00", "hour"),
        (
            np.arange(5) * 3 + 1.5,
            "hours since 2020-01-01",
            "2020-01-01T00:00",
            "3-hour",
        ),
        (np.arange(5) + 0.5, "hours since 2020-01-01", "2020-01-01T00:00", "hour"),
        (np.arange(5) * 6, "hours since 2020-01-01", "2020-01-01T00:00", "6-hour"),
        (np.arange(5) + 0.5, "days since 1850-01-01", "1850-01-01T00:00", "day"),
        (
            np.arange(5) * 60,
            "minutes since 2020-01-01 00:30",
            "2020-01-01T00:00",
            "hour",
        ),
        ([15.5, 45, 74.5, 105], "days since 2001-01-01", "2001-01-01T00:00", "month"),
        (np.arange(5), "months since 1900-01-15", "1900-01-01T00:00", "month"),
        ([20200131, 20200201, 20200202], "1", "2020-01-31T00:00", "day"),
        (
            [20200101, 20200201, 20200301],
            "day as %Y%m%d.%f",
            "2020-01-01T00:00",
            "month",
        ),
        ([199912, 200001, 200002], "", "1999-12-01T00:00", "month"),
    ],
)
def test_clocks(
    values: object, units: str, first: str, step: str, write: Write
) -> None:
    got = open_grid(write(stamped(values, units)))
    assert got.attrs["step"] == step
    assert starts(got)[0] == first
    assert got.sizes["time"] == len(np.asarray(values))


def test_names_of_the_axis(write: Write) -> None:
    for name in ("valid_time", "date", "TIME", "day", "time_counter"):
        ds = air().rename(time=name)
        assert starts(open_grid(write(ds, f"{name}.nc")))[-1] == "2020-01-02T23:00"


def test_text_as_some_models_write_it(write: Write) -> None:
    ds = air().drop_vars("time").rename(time="Time")
    days = pd.date_range("2020-02-28", periods=48, freq="h")
    ds["Times"] = "Time", days.strftime("%Y-%m-%d_%H:%M:%S").to_numpy().astype("S19")
    assert starts(open_grid(write(ds)))[24] == "2020-02-29T00:00"


@pytest.mark.parametrize("calendar", ["noleap", "365_day"])
def test_no_leap_days(calendar: str, write: Write) -> None:
    ds = stamped(np.arange(58, 61), "days since 2020-01-01", calendar=calendar)
    got = open_grid(write(ds))
    theirs = cftime.num2date(np.arange(58, 61), "days since 2020-01-01", calendar)
    assert [d.strftime("%m-%d") for d in theirs] == ["02-28", "03-01", "03-02"]
    assert [s[5:10] for s in starts(got)] == ["02-28", "02-29", "03-01", "03-02"]
    t = got["air_temperature"].to_numpy()
    np.testing.assert_array_equal(t[1], t[0])
    (repeated,) = (r for r in repairs_of(got) if r.kind is RepairKind.CALENDAR_DAYS)
    assert repeated.count == 1


@pytest.mark.parametrize("year", [2019, 2020])
def test_twelve_months_of_thirty_days(year: int, write: Write) -> None:
    ds = stamped(np.arange(720), f"days since {year}-01-01", calendar="360_day")
    got = open_grid(write(ds))
    length = 731  # 2019 and 2020, or 2020 and 2021, have one leap day
    assert got.sizes["time"] == length
    assert (np.diff(got["time"].to_numpy()) == np.timedelta64(1, "D")).all()
    assert starts(got)[0][:10] == f"{year}-01-01"
    assert starts(got)[-1][:10] == f"{year + 1}-12-31"
    (repeated,) = (r for r in repairs_of(got) if r.kind is RepairKind.CALENDAR_DAYS)
    assert repeated.count == length - 720
    # No season shifts: the first day of its second year is the first of January.
    t = got["air_temperature"].to_numpy()
    second = starts(got).index(f"{year + 1}-01-01T00:00")
    np.testing.assert_allclose(t[second], ds["t2m"].to_numpy()[360] - 273.15)


def test_dates_of_a_models_calendar_that_are_decoded_already(write: Write) -> None:
    raw = stamped(np.arange(400), "days since 2019-01-01", calendar="360_day")
    decoder = xr.coders.CFDatetimeCoder(use_cftime=True)
    decoded = xr.open_dataset(write(raw), engine="netcdf4", decode_times=decoder)
    assert decoded["time"].dtype == object
    np.testing.assert_array_equal(open_grid(decoded)["time"], open_grid(raw)["time"])


def test_months_of_thirty_days_keep_their_month(write: Write) -> None:
    ds = stamped(np.arange(12) * 30, "days since 2000-01-01", calendar="360_day")
    got = open_grid(write(ds))
    assert [s[:7] for s in starts(got)] == [f"2000-{m:02d}" for m in range(1, 13)]


def test_calendars_of_no_real_days_are_refused(write: Write) -> None:
    ds = stamped(np.arange(48), "hours since 2020-01-01", calendar="all_leap")
    with pytest.raises(WeatherError, match="all_leap calendar"):
        open_grid(write(ds))


@pytest.mark.parametrize("first", [0, 1])
@pytest.mark.parametrize("name", ["month", "time"])
def test_twelve_numbered_months(first: int, name: str, write: Write) -> None:
    ds = (
        stamped(np.arange(12) + first, "").rename(time=name)
        if name != "time"
        else (stamped(np.arange(12) + first, ""))
    )
    got = open_grid(write(ds))
    assert got.attrs["step"] == "climatology"
    assert got.attrs["kind"] == "normals"
    assert starts(got)[0] == "2001-01-01T00:00"


def test_months_of_the_year_nought(write: Write) -> None:
    hours = 366.0 + 730.485 * np.arange(12)
    got = open_grid(write(stamped(hours, "hour since 0000-01-01 00:00:00")))
    assert got.attrs["step"] == "climatology"
    assert [s[:7] for s in starts(got)] == [f"2001-{m:02d}" for m in range(1, 13)]


def test_climatology_bounds(write: Write) -> None:
    ds = stamped(
        [15, 45, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349],
        "days since 1985-01-01",
        climatology="climatology_bnds",
    )
    assert open_grid(write(ds)).attrs["step"] == "climatology"


def test_years_and_months_on_two_dims(write: Write) -> None:
    ds = air(np.arange(24)).drop_vars("time")
    two = xr.Dataset(coords={"lat": ds["lat"], "lon": ds["lon"]})
    for name in ("t2m", "d2m"):
        values = ds[name].to_numpy().reshape(2, 12, 3, 4)
        two[name] = ("year", "month", "lat", "lon"), values, {"units": "K"}
    two = two.assign_coords(year=[1999, 2000], month=np.arange(1, 13))
    got = open_grid(write(two))
    assert got.attrs["step"] == "month"
    assert starts(got)[13] == "2000-02-01T00:00"
    np.testing.assert_allclose(
        got["air_temperature"].to_numpy(), ds["t2m"].to_numpy() - 273.15
    )


def test_bounds_say_where_a_step_begins(write: Write) -> None:
    ds = stamped(np.arange(1, 13), "hours since 2020-01-01", bounds="time_bnds")
    edges = np.stack([np.arange(12), np.arange(1, 13)], axis=1).astype(float)
    ds["time_bnds"] = ("time", "bnds"), edges
    got = open_grid(write(ds))
    assert starts(got)[0] == "2020-01-01T00:00"


def test_months_in_files_of_their_own_unsorted_and_overlapping(write: Write) -> None:
    whole = air(np.arange(72))
    late, early = whole.isel(time=slice(40, 72)), whole.isel(time=slice(0, 48))
    paths = [write(late, "b.nc"), write(early, "a.nc")]
    got = open_grid(paths)
    assert got.sizes["time"] == 72
    np.testing.assert_allclose(got["air_temperature"], whole["t2m"] - 273.15)
    (twice,) = (r for r in repairs_of(got) if r.kind is RepairKind.TIMES_TWICE)
    assert twice.count == 8


def test_unsorted_times_in_one_file(write: Write) -> None:
    ds = air().isel(time=slice(None, None, -1))
    got = open_grid(write(ds))
    np.testing.assert_allclose(got["air_temperature"], ds["t2m"][::-1] - 273.15)


def test_one_time_a_file(write: Write) -> None:
    whole = air()
    paths = [write(whole.isel(time=i), f"{i:02d}.nc") for i in range(6)]
    got = open_grid(paths)
    assert got.sizes["time"] == 6
    with pytest.raises(WeatherError, match="single time"):
        open_grid(paths[0])


def test_steps_that_are_not_read(write: Write) -> None:
    for hours, words in ((8 * 24, "8 days"), (0.5, "0.5 h"), (12, "12 h")):
        ds = stamped(np.arange(5) * hours, "hours since 2020-01-01")
        with pytest.raises(WeatherError, match=f"times are {words} apart"):
            open_grid(write(ds, f"{hours}.nc"))


def test_temperature_and_humidity_of_other_times(write: Write) -> None:
    a, b = air().drop_vars("d2m"), air(np.arange(48) + 20).drop_vars("t2m")
    got = open_grid([write(a, "a.nc"), write(b, "b.nc")])
    assert got.sizes["time"] == 28
    (alone,) = (r for r in repairs_of(got) if r.kind is RepairKind.TIMES_UNPAIRED)
    assert alone.count == 40
    c = air(np.arange(48) + 200).drop_vars("t2m")
    with pytest.raises(WeatherError, match="no time in common"):
        open_grid([write(a, "a2.nc"), write(c, "c.nc")])


def test_runs_of_a_forecast_one_after_the_other(write: Write) -> None:
    ds = air(np.arange(24))
    runs = ds.assign_coords(time=("time", np.arange(24)))
    t = runs["t2m"].to_numpy().reshape(2, 12, 3, 4)
    starts_, steps = np.array([0, 12]), np.arange(12)
    dims = ("time", "step", "lat", "lon")
    two = xr.Dataset(
        {
            "t2m": (dims, t, {"units": "K"}),
            "d2m": (dims, t - 4.0, {"units": "K"}),
        },
        coords={
            "time": ("time", starts_, {"units": "hours since 2020-01-01"}),
            "step": ("step", steps, {"units": "hours"}),
            "valid_time": (
                ("time", "step"),
                starts_[:, None] + steps,
                {"units": "hours since 2020-01-01"},
            ),
            "lat": ds["lat"],
            "lon": ds["lon"],
        },
    )
    got = open_grid(write(two))
    np.testing.assert_allclose(
        got["air_temperature"].to_numpy(), ds["t2m"].to_numpy() - 273.15
    )
