"""Rows and columns of every kind of grid: where each value lies."""

import numpy as np
import pyproj
import pytest
import xarray as xr
from grid_files import Write, air

from emcforecast.errors import InputError, WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.grid.yards import Yard, cells_at


def value_at(ds: xr.Dataset, north: float, east: float) -> float:
    """Temperature at the first time of the cell with these very coordinates."""
    t = ds["air_temperature"].isel(time=0)
    return float(t.sel(latitude=north, longitude=east))


def test_longitudes_to_360_are_turned_to_begin_in_the_west(write: Write) -> None:
    ds = air(lat=[-30.0, 0.0, 30.0], lon=np.arange(0.0, 360.0, 30.0))
    got = open_grid(write(ds))
    np.testing.assert_allclose(got["longitude"], np.arange(-180.0, 180.0, 30.0))
    assert value_at(got, 30.0, -90.0) == pytest.approx(
        float(ds["t2m"].sel(lat=30.0, lon=270.0)[0]) - 273.15
    )


def test_longitudes_beyond_360_and_the_first_column_again(write: Write) -> None:
    ds = air(lat=[0.0, 1.0], lon=np.arange(20.0, 381.0, 30.0))
    got = open_grid(write(ds))
    assert got.sizes["longitude"] == 12
    assert value_at(got, 1.0, -10.0) == pytest.approx(
        float(ds["t2m"].sel(lat=1.0, lon=350.0)[0]) - 273.15
    )


def test_a_region_across_the_date_line_keeps_its_order(write: Write) -> None:
    got = open_grid(write(air(lon=[176.0, 179.0, 182.0, 185.0])))
    np.testing.assert_allclose(got["longitude"], [176.0, 179.0, -178.0, -175.0])


def test_descending_axes_and_other_names_keep_each_value_in_its_place(
    write: Write,
) -> None:
    ds = air(lat=[48.0, 49.0, 50.0], lon=[11.0, 10.0, 9.0, 8.0])
    for names in (("latitude", "longitude"), ("nav_lat", "nav_lon"), ("Y", "X")):
        renamed = ds.rename(lat=names[0], lon=names[1])
        got = open_grid(write(renamed, f"{names[0]}.nc"))
        assert value_at(got, 49.0, 9.0) == pytest.approx(
            float(ds["t2m"].sel(lat=49.0, lon=9.0)[0]) - 273.15
        )


def test_dims_in_any_order(write: Write) -> None:
    ds = air().transpose("lat", "lon", "time")
    got = open_grid(write(ds))
    assert got["air_temperature"].dims == ("time", "latitude", "longitude")
    np.testing.assert_allclose(
        got["air_temperature"], ds["t2m"].transpose("time", "lat", "lon") - 273.15
    )


def test_files_whose_rows_run_the_other_way(write: Write) -> None:
    ds = air()
    damp = ds.drop_vars("t2m").isel(lat=slice(None, None, -1))
    both = open_grid([write(ds.drop_vars("d2m"), "a.nc"), write(damp, "b.nc")])
    np.testing.assert_allclose(
        both["relative_humidity"], open_grid(write(ds, "c.nc"))["relative_humidity"]
    )


def test_other_grids_are_refused(write: Write) -> None:
    a, b = air().drop_vars("d2m"), air(lat=[50.0, 49.5, 49.0]).drop_vars("t2m")
    with pytest.raises(WeatherError, match=r"different grids: 3 × 4.*49\.00 to 50\.00"):
        open_grid([write(a, "a.nc"), write(b, "b.nc")])


Curved = tuple[xr.Dataset, np.ndarray, np.ndarray]


def curved(ds: xr.Dataset, crs: pyproj.CRS) -> Curved:
    x, y = 3e5 + 25e3 * np.arange(4), 2e5 + 25e3 * np.arange(3)
    turn = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    east, north = turn.transform(*np.meshgrid(x, y))
    out = ds.drop_vars(["lat", "lon"]).rename(lat="y", lon="x")
    about = {"units": "m"}
    return (
        out.assign_coords(
            x=("x", x, {**about, "standard_name": "projection_x_coordinate"}),
            y=("y", y, {**about, "standard_name": "projection_y_coordinate"}),
        ),
        north,
        east,
    )


CONIC = pyproj.CRS("+proj=lcc +lat_1=48 +lat_2=52 +lat_0=47 +lon_0=5 +datum=WGS84")


def test_two_dimensional_places_with_a_missing_corner(write: Write) -> None:
    ds, north, east = curved(air(), CONIC)
    north[0, 0] = east[0, 0] = np.nan
    ds["t2m"][:, 0, 0] = np.nan
    ds = ds.assign_coords(
        latitude=(("y", "x"), north, {"units": "degrees_north"}),
        longitude=(("y", "x"), east, {"units": "degrees_east"}),
    )
    got = open_grid(write(ds))
    assert got["latitude"].dims == ("y", "x")
    assert got["air_temperature"].dims == ("time", "y", "x")
    np.testing.assert_allclose(got["latitude"], north)
    assert np.isnan(got["relative_humidity"][:, 0, 0]).all()


def test_places_worked_out_of_the_projection(write: Write) -> None:
    ds, north, east = curved(air(), CONIC)
    ds["crs"] = (), 0, CONIC.to_cf()
    for name in ("t2m", "d2m"):
        ds[name].attrs["grid_mapping"] = "crs"
    got = open_grid(write(ds))
    np.testing.assert_allclose(got["latitude"], north, atol=1e-6)
    np.testing.assert_allclose(got["longitude"], east, atol=1e-6)


def test_a_turned_pole(write: Write) -> None:

    cf = {
        "grid_mapping_name": "rotated_latitude_longitude",
        "grid_north_pole_latitude": 39.25,
        "grid_north_pole_longitude": -162.0,
    }
    ds = air(lat=[-1.0, 0.0, 1.0], lon=[-2.0, -1.0, 0.0, 1.0])
    ds = ds.rename(lat="rlat", lon="rlon")
    ds["rlat"].attrs = {"standard_name": "grid_latitude", "units": "degrees"}
    ds["rlon"].attrs = {"standard_name": "grid_longitude", "units": "degrees"}
    ds["pole"] = (), 0, cf
    for name in ("t2m", "d2m"):
        ds[name].attrs["grid_mapping"] = "pole"
    got = open_grid(write(ds))
    # The middle of a turned grid is where its own equator and meridian cross.
    assert float(got["latitude"][1, 2]) == pytest.approx(90.0 - 39.25)
    assert float(got["longitude"][1, 2]) == pytest.approx(18.0)
    # One degree of a great circle from there, along its own meridian.
    assert float(got["latitude"][2, 2]) == pytest.approx(90.0 - 39.25 + 1.0)


def test_places_that_are_given_again_at_each_time(write: Write) -> None:
    ds, north, east = curved(air(), CONIC)
    ds = ds.drop_vars(["x", "y"])
    shape = ("time", "y", "x")
    again = np.ones((48, 1, 1))
    ds["XLAT"] = shape, north * again, {"units": "degree_north"}
    ds["XLONG"] = shape, east * again, {"units": "degree_east"}
    np.testing.assert_allclose(open_grid(write(ds))["latitude"], north)


def test_one_row_one_column_and_one_place(write: Write) -> None:
    ds = air()
    for part, shape in (
        (ds.isel(lat=[1]), (48, 1, 4)),
        (ds.isel(lon=[2]), (48, 3, 1)),
        (ds.isel(lat=1), (48, 1, 4)),
        (ds.isel(lat=1, lon=2), (48, 1, 1)),
    ):
        got = open_grid(write(part, f"{shape}{part.sizes}.nc"))
        assert got["air_temperature"].shape == shape
        t = part["t2m"].to_numpy().reshape(shape) - 273.15
        np.testing.assert_allclose(got["air_temperature"], t)


def test_a_list_of_cells_is_one_row(write: Write) -> None:
    listed = air().stack(cell=("lat", "lon")).reset_index("cell")
    got = open_grid(write(listed, "a.nc"))
    rows = open_grid(write(air(), "b.nc"))
    assert got["air_temperature"].dims == ("time", "list", "cell")
    for name in ("air_temperature", "relative_humidity"):
        np.testing.assert_array_equal(
            got[name].to_numpy().reshape(rows[name].shape), rows[name].to_numpy()
        )
    np.testing.assert_array_equal(got["latitude"][0], np.repeat([50, 49, 48], 4))
    np.testing.assert_array_equal(got["longitude"][0], np.tile([8, 9, 10, 11], 3))


def test_yards_of_a_list_of_cells(write: Write) -> None:
    """The list is as wide apart as its cells: 1 degree at 48 to 50 north, 73 km."""
    listed = air().stack(cell=("lat", "lon")).reset_index("cell")
    mixed = listed.isel(cell=np.random.default_rng(2).permutation(12))
    got = open_grid(write(mixed, "a.nc"))
    near = cells_at(got, [Yard("near", 49.2, 10.1)])
    whole = open_grid(write(air(), "b.nc"))
    np.testing.assert_array_equal(
        near["air_temperature"].to_numpy().ravel(),
        whole["air_temperature"].sel(latitude=49.0, longitude=10.0),
    )
    # 1.4 degrees of longitude at 49 degrees north are 102 km, 1.8 are 131 km.
    assert cells_at(got, [Yard("beside", 49.0, 12.4)]).sizes["yard"] == 1
    with pytest.raises(InputError, match=r"131 km away, and a cell is 7[1-5] km"):
        cells_at(got, [Yard("far", 49.0, 12.8)])


def test_a_grid_without_places_is_refused(write: Write) -> None:
    bare = air().drop_vars(["lat", "lon"])
    with pytest.raises(WeatherError, match="no latitude and longitude"):
        open_grid(write(bare, "b.nc"))


def test_heights_on_a_finer_grid(write: Write, tmp_path: object) -> None:
    rows, columns = np.arange(47.0, 51.1, 0.25), np.arange(7.0, 12.1, 0.25)
    top = rows[:, None] * 10.0 + columns
    fine = xr.DataArray(
        top,
        coords={"latitude": rows, "longitude": columns},
        name="orog",
        attrs={"units": "m"},
    )
    got = open_grid(write(air()), height=fine)
    assert float(got["elevation"].sel(latitude=49.0, longitude=10.0)) == 500.0
    with pytest.raises(WeatherError, match="height 99999 is not within"):
        open_grid(write(air(), "b.nc"), height=99999.0)
