"""Containers and packings: NetCDF of each kind, zarr, GRIB, a ZIP, chunks and masks."""

import zipfile
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from grid_files import Write, air

from emcforecast.errors import WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.grid.series import check_grid
from emcforecast.weather.repairs import RepairKind, repairs_of


def check_whole(got: xr.Dataset, ds: xr.Dataset, **near: float) -> None:
    check_grid(got)
    assert got.chunks
    np.testing.assert_allclose(got["air_temperature"], ds["t2m"] - 273.15, **near)


@pytest.mark.parametrize(
    "kind", ["NETCDF4", "NETCDF4_CLASSIC", "NETCDF3_CLASSIC", "NETCDF3_64BIT"]
)
def test_netcdf_of_each_kind(kind: str, write: Write) -> None:
    ds = air()
    if kind.startswith("NETCDF3"):
        ds["time"] = ds["time"].astype("int32")
        ds["time"].attrs = {"units": "hours since 2020-01-01 00:00"}
    check_whole(open_grid(write(ds, format=kind)), ds)


@pytest.mark.parametrize("version", [2, 3])
@pytest.mark.parametrize("packed", [False, True])
def test_zarr_of_both_formats(version: int, packed: bool, tmp_path: Path) -> None:
    ds = air()
    path = tmp_path / "grid.zarr"
    ds.to_zarr(path, zarr_format=version, consolidated=version == 2)
    if packed and version == 3:
        bundle = tmp_path / "grid.zarr.zip"
        with zipfile.ZipFile(bundle, "w", zipfile.ZIP_STORED) as archive:
            for part in sorted(path.rglob("*")):
                if part.is_file():
                    archive.write(part, str(part.relative_to(path)))
        path = bundle
    check_whole(open_grid(path), ds)


def test_grib(tmp_path: Path) -> None:
    eccodes = pytest.importorskip("eccodes")
    pytest.importorskip("cfgrib")
    path = tmp_path / "grid.grib"
    north, east = np.array([2.0, 1.0, 0.0]), np.array([10.0, 11.0, 12.0, 13.0])
    rng = np.random.default_rng(5)
    t = rng.uniform(275.0, 295.0, (4, 3, 4))
    with path.open("wb") as file:
        for hour in range(4):
            for number, away in ((167, 0.0), (168, -5.0), (130, 3.0)):
                held = eccodes.codes_grib_new_from_samples("regular_ll_sfc_grib1")
                for key, value in {
                    "Ni": 4,
                    "Nj": 3,
                    "latitudeOfFirstGridPointInDegrees": 2.0,
                    "latitudeOfLastGridPointInDegrees": 0.0,
                    "longitudeOfFirstGridPointInDegrees": 10.0,
                    "longitudeOfLastGridPointInDegrees": 13.0,
                    "iDirectionIncrementInDegrees": 1.0,
                    "jDirectionIncrementInDegrees": 1.0,
                    "dataDate": 20200228,
                    "dataTime": hour * 100,
                    "bitsPerValue": 24,
                }.items():
                    eccodes.codes_set(held, key, value)
                eccodes.codes_set(held, "paramId", number)
                eccodes.codes_set_values(held, (t[hour] + away).ravel())
                eccodes.codes_write(held, file)
                eccodes.codes_release(held)
    before = sorted(tmp_path.iterdir())
    got = open_grid(path)
    np.testing.assert_allclose(got["air_temperature"], t - 273.15, atol=1e-3)
    np.testing.assert_allclose(got["latitude"], north)
    np.testing.assert_allclose(got["longitude"], east)
    assert str(got["time"].to_numpy()[0])[:16] == "2020-02-28T00:00"
    assert sorted(tmp_path.iterdir()) == before  # no index is left beside the file


def test_a_zip_that_is_called_nc(write: Write, tmp_path: Path) -> None:
    ds = air()
    a, b = write(ds.drop_vars("d2m"), "a.nc"), write(ds.drop_vars("t2m"), "b.nc")
    path = tmp_path / "download.nc"
    with zipfile.ZipFile(path, "w") as archive:
        archive.write(a, "data_0.nc")
        archive.write(b, "data_1.nc")
        archive.writestr("readme.txt", "terms")
    check_whole(open_grid(path), ds)


def test_packed_integers_whose_scale_differs_by_file(write: Write) -> None:
    ds = air(np.arange(48))
    paths = []
    for number, part in enumerate((slice(0, 24), slice(24, 48))):
        packing = {
            "dtype": "int16",
            "scale_factor": (0.001, 0.002)[number],
            "add_offset": (280.0, 290.0)[number],
            "_FillValue": -32767,
        }
        paths.append(
            write(
                ds.isel(time=part),
                f"{number}.nc",
                encoding={"t2m": packing, "d2m": packing},
            )
        )
    check_whole(open_grid(paths), ds, atol=0.0011)


@pytest.mark.parametrize("mark", ["_FillValue", "missing_value", "none"])
def test_masked_seas(mark: str, write: Write) -> None:
    ds = air()
    sea = np.zeros((3, 4), dtype=bool)
    sea[1, 2] = True
    filled = ds.copy()
    for name in ("t2m", "d2m"):
        values = np.where(sea, 1e20, ds[name].to_numpy())
        filled[name] = ds[name].dims, values, {"units": "K"}
        if mark != "none":
            filled[name].encoding = {mark: 1e20}
    got = open_grid(write(filled))
    for name in ("air_temperature", "relative_humidity"):
        holes = np.isnan(got[name].to_numpy())
        assert (holes == sea).all()


def test_chunks_of_the_files_and_of_the_person(write: Write) -> None:
    ds = air()
    stored = {"chunksizes": (1, 1, 4)}
    path = write(ds, encoding={"t2m": stored, "d2m": stored})
    assert open_grid(path).chunks["time"] == (48,)
    mine = open_grid(path, chunks={"time": 10, "latitude": 2})
    assert mine.chunks["time"] == (10, 10, 10, 10, 8)
    assert mine.chunks["latitude"] == (2, 1)
    np.testing.assert_array_equal(
        mine["relative_humidity"], open_grid(path)["relative_humidity"]
    )
    with pytest.raises(WeatherError, match="chunks are given for 'tim'"):
        open_grid(path, chunks={"tim": 3})


def test_versions_are_merged_and_members_asked_for(write: Write) -> None:
    ds = air()
    final = ds.where(ds["time"] < 30)
    early = ds.where(ds["time"] >= 30)
    both = xr.concat([final, early], "expver").assign_coords(expver=[1, 5])
    for name in ("t2m", "d2m"):
        both[name].attrs = {"units": "K"}
    got = open_grid(write(both, "a.nc"))
    check_whole(got, ds)
    assert RepairKind.VERSIONS_MERGED in {r.kind for r in repairs_of(got)}
    members = xr.concat([ds, ds + 1.0], "number").assign_coords(number=[0, 1])
    for name in ("t2m", "d2m"):
        members[name].attrs = {"units": "K"}
    path = write(members, "b.nc")
    with pytest.raises(WeatherError, match="holds 2 members along 'number'"):
        open_grid(path)
    check_whole(open_grid(path, member=1), ds + 1.0)
    with pytest.raises(WeatherError, match="no member 7; 0 to 1"):
        open_grid(path, member=7)


def test_dims_of_one_value_and_levels(write: Write) -> None:
    ds = air()
    for name in ("t2m", "d2m"):
        ds[name] = ds[name].expand_dims(height=[2.0], axis=1).assign_attrs(units="K")
    ds = ds.assign_coords(number=0, surface=0.0)
    got = open_grid(write(ds, "a.nc"))
    check_whole(got, ds.isel(height=0))
    high = air().rename(t2m="t")
    high["t"] = high["t"].expand_dims(level=[1000.0, 850.0], axis=1)
    high["t"].attrs = {"units": "K", "standard_name": "air_temperature"}
    with pytest.raises(WeatherError, match="t has 2 values along 'level'"):
        open_grid(write(high, "b.nc"))


def test_words_between_the_numbers(write: Write) -> None:
    ds = air()
    ds["station"] = "lat", np.array(["a", "b", "c"])
    ds["expver"] = "time", np.array(["0001"] * 48)
    ds["lat_bnds"] = ("lat", "bnds"), np.zeros((3, 2)), {"units": "degrees_north"}
    ds["lat"].attrs["bounds"] = "lat_bnds"
    check_whole(open_grid(write(ds, unlimited_dims=["time"])), ds)


def test_what_is_no_grid_is_refused_in_one_line(write: Write, tmp_path: Path) -> None:
    text = tmp_path / "a.csv"
    text.write_text("time,temp\n")
    cut = write(air(), "cut.nc")
    cut.write_bytes(cut.read_bytes()[:3000])
    (tmp_path / "folder").mkdir()
    for path, words in (
        (text, "is no NetCDF, zarr or GRIB"),
        (cut, "cut off or damaged"),
        (tmp_path / "folder", "is a folder and no zarr store"),
        (tmp_path / "none.nc", "there is no such file"),
        (tmp_path / "*.grb", "no file has such a name"),
        ("s3://bucket/grid.zarr", "download it first"),
    ):
        with pytest.raises(WeatherError, match=words) as refusal:
            open_grid(path)
        assert "\n" not in str(refusal.value)


def test_a_dataset_that_is_open_already(write: Write) -> None:
    ds = air()
    check_whole(open_grid(ds), ds)
    decoded = xr.open_dataset(write(ds), engine="netcdf4", chunks={})
    check_whole(open_grid(decoded), ds)


def test_a_dataset_in_pieces_keeps_them() -> None:
    got = open_grid(air().chunk({"time": 7, "lat": 1}))
    assert got.chunks["time"][0] == 7
    assert got.chunks["latitude"] == (1, 1, 1)


def test_opening_computes_no_values(write: Write) -> None:
    import dask

    path = write(air())
    started: list[int] = []

    def refuse(*_: object, **__: object) -> None:
        started.append(1)

    with dask.config.set(scheduler=refuse):
        open_grid(path)
    assert not started


def test_terms_and_origin_come_along(write: Write) -> None:
    ds = air().assign_attrs(
        institution="An invented institute", license="CC0", experiment_id="future"
    )
    got = open_grid(write(ds))
    assert got.attrs["kind"] == "climate model"
    assert got.attrs["licence"] == "CC0"
    assert got.attrs["source"] == "An invented institute: grid.nc"
    with pytest.raises(WeatherError, match="kind 'weather' is not known"):
        open_grid(write(ds, "b.nc"), kind="weather")
