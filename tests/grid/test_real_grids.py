"""The real grids of ../shared: each opens whole, or is refused for the right reason."""

from pathlib import Path

import netCDF4
import numpy as np
import pytest
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.weather.read import read_weather
from emcforecast.weather.repairs import RepairKind, repairs_of

CASES = {
    "era5_hourly_london_*": ("hour", 2208, 7, 7),
    "era5_hourly_cornwall*": ("hour", 744, 5, 7),
    "era5_*_alone_201501*": ("hour", 140, 13, 11),
    "era5_monthly_date_integers*": ("month", 490, 2, 3),
    "era5_download_zip_named*": ("month", 490, 2, 3),
    "merra2*": ("hour", 71, 7, 5),
    "cmip6_daily_reference*": ("day", 3653, 17, 16),
    "cmip6_daily_projection*": ("day", 2557, 17, 16),
    "climatology_land_ocean*": ("climatology", 12, 36, 72),
    "climatology_ocean_2deg*": ("climatology", 12, 90, 180),
}


@pytest.mark.parametrize("pattern", CASES)
def test_each_opens(pattern: str, shared: Path) -> None:
    got = open_grid(shared / pattern)
    step, *shape = CASES[pattern]
    assert got.attrs["step"] == step
    assert list(got["air_temperature"].shape) == shape
    some = got.isel(time=slice(None, None, 97)).compute()
    assert -60.0 < float(some["air_temperature"].mean()) < 35.0
    assert 20.0 < float(some["relative_humidity"].mean()) < 100.0


def test_temperature_alone(shared: Path) -> None:
    with pytest.raises(WeatherError, match="temperature but no humidity"):
        open_grid(shared / "era5_t2m_alone_201501.nc")


def test_one_forecast_of_the_world(shared: Path) -> None:
    pytest.importorskip("cfgrib")
    with pytest.raises(WeatherError, match="a single time"):
        open_grid(shared / "forecast_global_2p5deg.grib2")


def test_packed_values_against_the_netcdf_library(shared: Path) -> None:
    got = open_grid(shared / "era5_hourly_london_*")
    first = 0
    for month in ("10", "11", "12"):
        with netCDF4.Dataset(shared / f"era5_hourly_london_2013{month}.nc") as file:
            theirs = np.ma.filled(file["t2m"][:], np.nan) - 273.15
        part = got["air_temperature"][first : first + len(theirs)]
        np.testing.assert_allclose(part, theirs, atol=1e-9)
        first += len(theirs)


@pytest.mark.parametrize(
    ("name", "north", "east"),
    [
        ("era5_hourly_cornwall_201805_new_layout.nc", 50.25, -5.0),
        ("era5_hourly_london_201311.nc", 51.5, 0.0),
        ("era5_monthly_date_integers_1984-2024.nc", 40.74, -74.02),
    ],
)
def test_one_cell_as_the_reader_of_one_place_has_it(
    name: str, north: float, east: float, shared: Path
) -> None:
    cell = open_grid(shared / name).sel(latitude=north, longitude=east)
    point = read_weather(shared / name, latitude=north, longitude=east)
    assert (cell["time"].to_numpy() == point["time"].to_numpy()).all()
    for quantity in ("air_temperature", "relative_humidity", "wind_speed"):
        if quantity in point and quantity in cell:
            np.testing.assert_allclose(cell[quantity], point[quantity], atol=1e-9)


def test_humidity_of_the_climatology_as_its_makers_worked_it_out(shared: Path) -> None:
    path = shared / "climatology_land_ocean_5deg.nc"
    given = open_grid(path)
    ds = xr.open_dataset(path, engine="netcdf4").drop_vars("hurs")
    worked_out = open_grid(ds)
    away = np.abs(given["relative_humidity"] - worked_out["relative_humidity"])
    # Theirs is a Magnus formula too, of other constants: 0.4 % of itself at -50 °C.
    assert float(away.max()) < 0.6


def test_sea_level_pressure_over_mountains_is_said(shared: Path) -> None:
    files = sorted(shared.glob("cmip6_daily_reference*"))
    got = open_grid(files)
    assert RepairKind.SEA_LEVEL_PRESSURE in {r.kind for r in repairs_of(got)}
    high = got["air_temperature"].isel(time=slice(0, 360)).mean("time") < 5.0
    top = xr.where(high, 4500.0, 0.0).drop_vars("time", errors="ignore")
    corrected = open_grid(files, height=top.rename("orog").assign_attrs(units="m"))
    assert RepairKind.SEA_LEVEL_CORRECTED in {r.kind for r in repairs_of(corrected)}
    some = {"time": slice(0, 360)}
    before = got["relative_humidity"].isel(some).where(high)
    after = corrected["relative_humidity"].isel(some).where(high)
    # Impossible humidity of high ground is missing before and there afterwards.
    assert float(before.isnull().sum()) > float(after.isnull().sum()) + 1000
    assert float(before.mean()) > float(after.mean())
