"""What a variable is and in which unit, whatever a file calls it."""

import numpy as np
import psychrolib
import pytest
import xarray as xr
from grid_files import Write, air

from emcforecast.errors import WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.weather.repairs import RepairKind, repairs_of

psychrolib.SetUnitSystem(psychrolib.SI)
BY_ANOTHER = 0.6
"""% RH by which the formula of the other library (ASHRAE) differs, 0 to 30 °C."""


def kinds(ds: xr.Dataset) -> set[RepairKind]:
    return {r.kind for r in repairs_of(ds)}


@pytest.mark.parametrize(
    ("warm", "damp"),
    [
        ("2t", "2d"),
        ("T2M", "T2MDEW"),
        ("t2m", "d2m"),
        ("tmp2m", "dpt2m"),
        ("TMP_2maboveground", "DPT_2maboveground"),
        ("air_temperature_2m", "dew_point_temperature_2m"),
        ("T_2M", "TD_2M"),
    ],
)
def test_short_names(warm: str, damp: str, write: Write) -> None:
    ds = air().rename(t2m=warm, d2m=damp)
    grid = open_grid(write(ds))
    np.testing.assert_allclose(grid["air_temperature"], ds[warm] - 273.15)


def test_the_standard_name_goes_before_the_short_one(write: Write) -> None:
    ds = air().rename(t2m="d", d2m="t2m").rename(d="wind")
    ds["wind"].attrs["standard_name"] = "air_temperature"
    ds["t2m"].attrs["standard_name"] = "dew_point_temperature"
    grid = open_grid(write(ds))
    np.testing.assert_allclose(grid["air_temperature"], ds["wind"] - 273.15)


def test_water_and_ground_are_not_air(write: Write) -> None:
    ds = air()
    for name, standard in (("sst", "sea_surface_temperature"), ("tsl", "soil_temp")):
        ds[name] = ds["t2m"] + 10.0
        ds[name].attrs = {"units": "K", "standard_name": standard}
    grid = open_grid(write(ds))
    np.testing.assert_allclose(grid["air_temperature"], ds["t2m"] - 273.15)


def test_dew_point_against_another_library(write: Write) -> None:
    ds = air()
    grid = open_grid(write(ds)).isel(time=slice(0, 4))
    ours = grid["relative_humidity"].to_numpy().ravel()
    t = ds["t2m"].to_numpy()[:4].ravel() - 273.15
    theirs = 100.0 * np.vectorize(psychrolib.GetRelHumFromTDewPoint)(t, t - 5.0)
    # Below 0 °C the other library saturates over ice.
    warm = t - 5.0 > 0.0
    np.testing.assert_allclose(ours[warm], theirs[warm], atol=BY_ANOTHER)


@pytest.mark.parametrize("measure", ["huss", "vap", "mixing ratio"])
def test_other_measures_against_another_library(measure: str, write: Write) -> None:
    ds = air().drop_vars("d2m") + 8.0
    ds["t2m"].attrs["units"] = "K"
    ds["time"].attrs["units"] = "hours since 2020-01-01"
    ds["lat"].attrs["units"], ds["lon"].attrs["units"] = "degrees_north", "degrees_east"
    t, p = ds["t2m"].to_numpy() - 273.15, 90_000.0
    ratio = np.vectorize(psychrolib.GetHumRatioFromRelHum)(t, 0.55, p)
    dims = ("time", "lat", "lon")
    if measure == "huss":
        ds["huss"] = dims, 1e3 * ratio / (1 + ratio), {"units": "g/kg"}
    elif measure == "vap":
        e = 0.55 * np.vectorize(psychrolib.GetSatVapPres)(t)
        ds["vap"] = dims, e / 100, {"units": "hPa"}
    else:
        named = {"units": "kg kg**-1", "standard_name": "humidity_mixing_ratio"}
        ds["w"] = dims, ratio, named
    ds["ps"] = dims, np.full(t.shape, p), {"units": "Pa"}
    got = open_grid(write(ds))["relative_humidity"]
    assert float(np.abs(got - 55.0).max()) < BY_ANOTHER


def test_sea_level_pressure_is_corrected_by_the_height_or_said(write: Write) -> None:
    ds = air().drop_vars("d2m")
    ds["t2m"][:] = 288.15 - 0.0065 * 1000.0  # the standard atmosphere at 1000 m
    dims = ds["t2m"].dims
    ds["huss"] = dims, np.full(ds["t2m"].shape, 0.004), {"units": "1"}
    ds["psl"] = dims, np.full(ds["t2m"].shape, 1013.25), {"units": "hPa"}
    path = write(ds)
    alone = open_grid(path)
    held = {r.kind: dict(r.facts) for r in repairs_of(alone)}
    wrong = float(held[RepairKind.SEA_LEVEL_PRESSURE]["too_high_at_1000_m"])
    right = open_grid(path, height=1000.0)
    assert RepairKind.SEA_LEVEL_CORRECTED in kinds(right)
    # ISO 2533 prints 898.76 hPa at 1000 m.
    ratio = float((alone["relative_humidity"] / right["relative_humidity"]).mean())
    assert ratio == pytest.approx(1013.25 / 898.76, rel=1e-4)
    assert wrong == pytest.approx(ratio - 1.0, rel=1e-3)
    ds["orog"] = ("lat", "lon"), np.full((3, 4), 1000.0 * 9.80665), {"units": "m2 s-2"}
    from_file = open_grid(write(ds, "with.nc"))
    np.testing.assert_allclose(from_file["elevation"], 1000.0)
    np.testing.assert_allclose(
        from_file["relative_humidity"], right["relative_humidity"], rtol=1e-9
    )


@pytest.mark.parametrize(
    ("units", "factor", "shift"),
    [("degrees_celsius", 1.0, -273.15), ("degF", 1.8, -459.67), ("", 1.0, 0.0)],
)
def test_units_of_temperature(
    units: str, factor: float, shift: float, write: Write
) -> None:
    ds = air()
    raw = ds["t2m"] - 273.15
    ds["t2m"] = (ds["t2m"] * factor + shift).assign_attrs(units=units)
    np.testing.assert_allclose(open_grid(write(ds))["air_temperature"], raw, atol=1e-9)


def test_units_that_contradict_the_values_are_refused(write: Write) -> None:
    ds = air()
    ds["t2m"].attrs["units"] = "degC"
    with pytest.raises(WeatherError, match="says 'degC' but its values are"):
        open_grid(write(ds))


@pytest.mark.parametrize(("units", "factor"), [("1", 0.01), ("", 0.01), ("%", 1.0)])
def test_humidity_as_a_fraction_and_beyond_its_ends(
    units: str, factor: float, write: Write
) -> None:
    ds = air()
    rh = np.linspace(5.0, 95.0, ds["t2m"].size).reshape(ds["t2m"].shape)
    rh[0, 0, :] = (104.0, -0.5, 140.0, 60.0)
    ds["hurs"] = ds["t2m"].dims, rh * factor, {"units": units}
    got = open_grid(write(ds.drop_vars("d2m")))["relative_humidity"].to_numpy()
    np.testing.assert_allclose(got[0, 0], [100.0, 0.0, np.nan, 60.0])
    np.testing.assert_allclose(got[1:], rh[1:])


def test_two_temperatures_are_asked_about(write: Write) -> None:
    ds = air()
    ds["tair"] = ds["t2m"].assign_attrs(units="K")
    ds = ds.rename(t2m="temp")
    path = write(ds)
    with pytest.raises(WeatherError, match="several variables may be the air temp"):
        open_grid(path)
    got = open_grid(path, variables={"air_temperature": "temp"})
    np.testing.assert_allclose(got["air_temperature"], ds["temp"] - 273.15)
    with pytest.raises(WeatherError, match="no file has a variable 'tmep'"):
        open_grid(path, variables={"air_temperature": "tmep"})
    with pytest.raises(WeatherError, match="Did you mean 'air_temperature'"):
        open_grid(path, variables={"air_temperatur": "temp"})


def test_what_lacks_is_asked_for(write: Write) -> None:
    with pytest.raises(WeatherError, match="temperature but no humidity"):
        open_grid(write(air().drop_vars("d2m")))
    with pytest.raises(WeatherError, match="humidity but no air temperature"):
        open_grid(write(air().drop_vars("t2m"), "b.nc"))
    with pytest.raises(WeatherError, match="no variable is recognised"):
        open_grid(write(air().rename(t2m="qq", d2m="zz"), "c.nc"))


def test_highs_and_lows_make_a_mean(write: Write) -> None:
    ds = air().rename(t2m="tasmax")
    ds["tasmin"] = (ds["tasmax"] - 8.0).assign_attrs(units="K")
    ds["time"] = ("time", np.arange(48.0), {"units": "days since 2020-01-01"})
    got = open_grid(write(ds))
    np.testing.assert_allclose(got["air_temperature"], ds["tasmax"] - 277.15)
    assert RepairKind.MEAN_OF_EXTREMES in kinds(got)


def test_wind_of_its_parts_and_rain_and_sun_of_the_hour(write: Write) -> None:
    ds = air()
    dims = ds["t2m"].dims
    ds["u10"] = dims, np.full(ds["t2m"].shape, 3.0), {"units": "m s**-1"}
    ds["v10"] = dims, np.full(ds["t2m"].shape, -4.0), {"units": "m s**-1"}
    hours = np.arange(48.0)[:, None, None] * np.ones((1, 3, 4))
    ds["tp"] = dims, hours * 1e-3, {"units": "m"}
    ds["ssrd"] = dims, hours * 3600.0, {"units": "J m**-2"}
    got = open_grid(write(ds))
    np.testing.assert_allclose(got["wind_speed"], 5.0)
    # Summed up to its stamp: the amount of 01 fell in the hour that begins at 00.
    for name in ("precipitation", "shortwave"):
        np.testing.assert_allclose(got[name][:-1, 0, 0], hours[1:, 0, 0])
        assert np.isnan(got[name][-1, 0, 0])


def test_rain_that_adds_up_over_the_day_is_taken_apart(write: Write) -> None:
    ds = air(np.arange(1, 241))
    rng = np.random.default_rng(3)
    fell = rng.uniform(0.1, 2.0, (10, 24, 3, 4))
    sums = np.cumsum(fell, axis=1).reshape(240, 3, 4)
    ds["tp"] = ds["t2m"].dims, sums * 1e-3, {"units": "m"}
    got = open_grid(write(ds))
    assert RepairKind.RUNNING_SUMS in kinds(got)
    np.testing.assert_allclose(
        got["precipitation"][:-1], fell.reshape(240, 3, 4)[1:], rtol=1e-9
    )
