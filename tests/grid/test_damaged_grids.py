"""Grid files cut off, contradicting themselves or asking for too much: one line."""

import json
import shutil
import zipfile
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from grid_files import Write, air

from emcforecast.errors import WeatherError
from emcforecast.grid.bounded import MOST_VALUES
from emcforecast.grid.grib_messages import require_messages
from emcforecast.grid.read import open_grid
from emcforecast.grid.run import run_blocks
from emcforecast.weather.repairs import RepairKind, repairs_of


def refused(path: Path, words: str) -> None:
    with pytest.raises(WeatherError, match=words) as refusal:
        open_grid(path)
    assert "\n" not in str(refusal.value)


@pytest.fixture
def classic(write: Write) -> Path:
    ds = air()
    ds["time"] = ds["time"].astype("int32")
    ds["time"].attrs = {"units": "hours since 2020-01-01 00:00"}
    return write(ds, format="NETCDF3_CLASSIC")


def test_a_classic_file_cut_off_is_no_sea_of_zeros(classic: Path) -> None:
    """The library reads what is not there as zeros: 0 K, or 0 % humidity."""
    content = classic.read_bytes()
    classic.write_bytes(content[:-400])
    refused(classic, "is cut off: .* bytes are there")


@pytest.mark.parametrize("at", [8, 12, 44])
def test_a_damaged_count_of_a_classic_header(classic: Path, at: int) -> None:
    """The library followed such a count for a minute."""
    content = bytearray(classic.read_bytes())
    content[at : at + 4] = b"\x7f\xff\xff\xff"
    classic.write_bytes(content)
    refused(classic, "cut off or damaged")


@pytest.fixture(params=[2, 3])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / "grid.zarr"
    air().to_zarr(path, zarr_format=request.param, consolidated=False)
    return path


def about(store: Path, **changes: object) -> None:
    """Change what a store says of its temperature, in either format."""
    path = store / "t2m" / "zarr.json"
    if path.exists():
        said = json.loads(path.read_text())
        if "chunks" in changes:
            said["chunk_grid"]["configuration"]["chunk_shape"] = changes.pop("chunks")
    else:
        path = store / "t2m" / ".zarray"
        said = json.loads(path.read_text())
    path.write_text(json.dumps({**said, **changes}))


def test_a_shape_that_nothing_can_have(store: Path) -> None:
    about(store, shape=[48, 5_000_000, 9_000_000])
    refused(store, "t2m|conflicting sizes")
    assert MOST_VALUES < 48 * 5_000_000 * 9_000_000


def test_pieces_larger_than_memory(store: Path) -> None:
    about(store, chunks=[48, 30_000, 30_000])
    refused(store, "stored in pieces")


def test_a_store_whose_description_is_damaged(store: Path) -> None:
    for name in ("zarr.json", ".zarray"):
        path = store / "t2m" / name
        if path.exists():
            path.write_text('{"zarr_format": ')
    refused(store, "damaged|no air temperature")


def test_a_broken_piece_met_while_a_map_is_made(store: Path) -> None:
    ds = open_grid(store)
    for piece in sorted((store / "d2m").rglob("*")):
        if piece.is_file() and "zarr" not in piece.name and piece.name != ".zattrs":
            piece.write_bytes(b"\x02\x01\xff" + piece.read_bytes()[:9])
    with pytest.raises(WeatherError, match="a part of the grid is cut off or damaged"):
        run_blocks([(0, {})], lambda region: ds.isel(region), print, threads=1)


def test_a_zip_whose_list_of_files_is_damaged(store: Path, tmp_path: Path) -> None:
    bundle = tmp_path / "grid.zarr.zip"
    with zipfile.ZipFile(bundle, "w", zipfile.ZIP_STORED) as archive:
        for part in sorted(store.rglob("*")):
            if part.is_file():
                archive.write(part, str(part.relative_to(store)))
    content = bytearray(bundle.read_bytes())
    content[0:40] = b"PK\x03\x04" + b"\xff" * 36
    shutil.rmtree(store)
    bundle.write_bytes(content)
    refused(bundle, "cut off or damaged")


def test_times_that_are_no_numbers(write: Write) -> None:
    when = np.array([0.0, 1.0, np.nan, 3.0])
    path = write(air(when), encoding={"time": {"_FillValue": None}})
    got = open_grid(path)
    assert got.sizes["time"] == 3
    assert RepairKind.READINGS_WITHOUT_TIME in {r.kind for r in repairs_of(got)}


@pytest.mark.parametrize("name", ["lat", "lon"])
def test_places_that_go_forth_and_back(name: str, write: Write) -> None:
    ds = air()
    places = ds[name].to_numpy().copy()
    places[1] = 0.0
    ds[name] = name, places, ds[name].attrs
    refused(write(ds), "neither rise nor fall")


def test_units_and_calendars_that_nobody_knows(write: Write) -> None:
    for units, calendar in (
        ("fortnights since 2020-01-01", "standard"),
        ("hours since 2020-99-99", "standard"),
        ("days since 2020-01-01", "hebrew"),
        ("", ""),
    ):
        ds = air()
        ds["time"].attrs = {"units": units, "calendar": calendar}
        path = write(ds, f"{len(units)}{calendar}.nc")
        if calendar == "hebrew":
            refused(path, "calendar|hebrew")
        else:
            refused(path, "time|damaged|no year")


def grib(
    sections: list[bytes], *, edition: int = 2, length: int | None = None
) -> bytes:
    """Put a message together (FM 92 GRIB: an indicator, sections, and an end)."""
    body = b"".join(sections)
    whole = 16 + len(body) + 4 if length is None else length
    return b"GRIB\0\0\0" + bytes([edition]) + whole.to_bytes(8, "big") + body + b"7777"


def section(number: int, size: int) -> bytes:
    return size.to_bytes(4, "big") + bytes([number]) + bytes(size - 5)


GOOD = [section(number, 20) for number in (1, 3, 4, 5, 6, 7)]


def test_grib_messages_are_walked_through(tmp_path: Path) -> None:
    path = tmp_path / "grid.grib"
    path.write_bytes(b"padding" + grib(GOOD) + bytes(30) + grib([*GOOD, *GOOD[1:]]))
    require_messages(path, "it")
    for bad in (
        grib(GOOD)[:-6],
        grib(GOOD, length=1 << 40),
        grib(GOOD, edition=9),
        grib([*GOOD[:3], section(9, 20), *GOOD[3:]]),
        grib([*GOOD[:5], (4000).to_bytes(4, "big") + b"\x07" + bytes(15)]),
        grib(GOOD[:5]),
        grib(GOOD).replace(b"7777", b"7778"),
    ):
        path.write_bytes(grib(GOOD) + bad)
        with pytest.raises(WeatherError, match="cut off or damaged") as refusal:
            require_messages(path, "it")
        assert "\n" not in str(refusal.value)


def test_grids_in_small_pieces_are_still_opened(tmp_path: Path) -> None:
    path = tmp_path / "small.zarr"
    air().to_zarr(path, zarr_format=2, encoding={"t2m": {"chunks": (1, 1, 1)}})
    assert isinstance(open_grid(path), xr.Dataset)
