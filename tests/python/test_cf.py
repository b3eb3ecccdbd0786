"""CF attributes of series and results, and NetCDF there and back."""

from pathlib import Path

import pytest
import xarray as xr

from emcforecast import Board, read_weather, running_emc, simulate, weather_series
from emcforecast.weather.formats.netcdf import write_weather

# CF standard name table (version 91), and its canonical units' dimensions: a depth of
# water is lwe_thickness_of_precipitation_amount (m); precipitation_amount is kg m-2.
STANDARD = {
    "air_temperature": ("air_temperature", "degC", None),
    "relative_humidity": ("relative_humidity", "%", None),
    "precipitation": ("lwe_thickness_of_precipitation_amount", "mm", "time: sum"),
    "wind_speed": ("wind_speed", "m s-1", None),
    "shortwave": ("surface_downwelling_shortwave_flux_in_air", "W m-2", "time: mean"),
}


@pytest.fixture(scope="module")
def weather() -> xr.Dataset:
    return read_weather("demo").isel(time=slice(0, 1000))


def test_a_series_has_cf_attributes(weather: xr.Dataset) -> None:
    assert weather.attrs["Conventions"] == "CF-1.11"
    assert weather["time"].attrs["standard_name"] == "time"
    for name, (standard, units, methods) in STANDARD.items():
        attrs = weather[name].attrs
        assert attrs["standard_name"] == standard
        assert attrs["units"] == units
        assert attrs.get("cell_methods") == methods


def test_a_series_survives_netcdf(weather: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "plain.nc"
    weather.to_netcdf(path, engine="h5netcdf")
    with xr.open_dataset(path, engine="h5netcdf") as opened:
        back = weather_series(opened).load()
    xr.testing.assert_equal(back, weather)
    for name in ("source", "licence", "attribution", "kind", "step", "Conventions"):
        assert back.attrs[name] == weather.attrs[name]
    for name in ("latitude", "longitude", "elevation", "utc_offset"):
        assert back.attrs[name] == pytest.approx(weather.attrs[name])
    for name in weather.data_vars:
        assert back[name].attrs == weather[name].attrs
    again = tmp_path / "again.nc"
    back.to_netcdf(again, engine="h5netcdf")
    read = read_weather(again, gaps="keep")
    xr.testing.assert_equal(read, weather)
    assert read.attrs == weather.attrs


def test_a_written_series_opened_by_anyone(weather: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "own.nc"
    write_weather(weather, path)
    with xr.open_dataset(path, engine="h5netcdf") as opened:
        back = weather_series(opened).load()
    xr.testing.assert_equal(back, weather)
    for name in ("source", "licence", "attribution", "kind", "utc_offset"):
        assert back.attrs[name] == weather.attrs[name]


def test_results_survive_netcdf(weather: xr.Dataset, tmp_path: Path) -> None:
    board = Board("ash", "4/4")
    path = simulate(weather, board, 40.0)
    rest = running_emc(weather, board)
    assert path.attrs["Conventions"] == "CF-1.11"
    for name in ("source", "licence", "attribution"):
        assert path.attrs[name] == rest.attrs[name] == weather.attrs[name]
    for variable in (*path.data_vars.values(), rest):
        assert variable.attrs["units"] == "%"
        assert variable.attrs["cell_methods"] == "time: point"
        assert "oven-dry" in variable.attrs["long_name"]
    file = tmp_path / "board.nc"
    path.assign(running_emc=rest).to_netcdf(file, engine="h5netcdf")
    with xr.open_dataset(file, engine="h5netcdf") as opened:
        back = opened.load()
    xr.testing.assert_equal(back.drop_vars("running_emc"), path)
    xr.testing.assert_equal(back["running_emc"], rest)
    assert {k: back.attrs[k] for k in path.attrs} == path.attrs
    assert back["time"].attrs["standard_name"] == "time"
