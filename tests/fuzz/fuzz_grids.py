"""Small grid files of every kind as seeds, and how a damaged one is asked."""

from __future__ import annotations

import io
import shutil
import tempfile
import warnings
import zipfile
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import xarray as xr
from fuzz_judge import BadAnswerError

from emcforecast.errors import InputError
from emcforecast.weather.repairs import repairs_of

HOURS = 30


def _air(times: np.ndarray, units: str, calendar: str = "standard") -> xr.Dataset:
    north, east = np.array([50.0, 49.0, 48.0]), np.array([8.0, 9.0, 10.0, 11.0])
    shape = (times.size, 3, 4)
    t = np.random.default_rng(7).uniform(270.0, 295.0, shape).astype("f4")
    dims = ("time", "lat", "lon")
    return xr.Dataset(
        {"t2m": (dims, t, {"units": "K"}), "d2m": (dims, t - 5, {"units": "K"})},
        coords={
            "time": ("time", times, {"units": units, "calendar": calendar}),
            "lat": ("lat", north, {"units": "degrees_north"}),
            "lon": ("lon", east, {"units": "degrees_east"}),
        },
    )


def _written(ds: xr.Dataset, **how: object) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "grid.nc"
        ds.to_netcdf(path, engine="netcdf4", **how)  # type: ignore[call-overload]
        return path.read_bytes()


def netcdf_grids() -> dict[str, bytes]:
    """Return grids as NetCDF: hours, days of 30-day months, months; packed; classic."""
    hours = _air(np.arange(HOURS, dtype="i4"), "hours since 2020-01-01")
    days = _air(np.arange(90.0), "days since 1999-12-01 12:00", "360_day")
    months = _air(np.arange(12.0), "months since 2001-01-01")
    packing = {"dtype": "int16", "scale_factor": 0.001, "add_offset": 280.0}
    packing["_FillValue"] = -32767
    packed = {"t2m": packing, "d2m": packing}
    cut = {"t2m": {"zlib": True, "chunksizes": (10, 3, 2)}}
    return {
        "hours.nc": _written(hours, encoding=cut),
        "packed.nc": _written(hours, encoding=packed, unlimited_dims=["time"]),
        "classic.nc": _written(hours, format="NETCDF3_CLASSIC"),
        "noleap.nc": _written(
            _air(np.arange(60.0), "days since 2004-02-01", "noleap"),
            format="NETCDF3_64BIT",
        ),
        "days.nc": _written(days, format="NETCDF3_CLASSIC"),
        "months.nc": _written(months, format="NETCDF3_CLASSIC"),
    }


def zarr_grids() -> dict[str, bytes]:
    """Return grids as zarr of formats 2 and 3, their files put into a zip."""
    hours = _air(np.arange(HOURS, dtype="i4"), "hours since 2020-01-01")
    found = {}
    for version in (2, 3):
        with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            store = Path(folder) / "grid.zarr"
            cut = {"t2m": {"chunks": (10, 3, 2)}}
            hours.to_zarr(
                store,
                zarr_format=version,  # type: ignore[arg-type]
                consolidated=version == 2,
                encoding=cut,
            )
            held = {
                str(part.relative_to(store)): part.read_bytes()
                for part in sorted(store.rglob("*"))
                if part.is_file()
            }
        found[f"zarr{version}.zip"] = zipped(held)
    return found


def zipped(held: dict[str, bytes]) -> bytes:
    """Return files in a zip, the same for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, data in held.items():
            archive.writestr(zipfile.ZipInfo(name), data)
    return out.getvalue()


def grib_grids() -> dict[str, bytes]:
    """Return a small GRIB file of each edition; none where eccodes is not installed."""
    if find_spec("eccodes") is None or find_spec("cfgrib") is None:
        return {}
    import eccodes

    found = {}
    rng = np.random.default_rng(5)
    for edition in (1, 2):
        out = b""
        for hour in range(3):
            for number, away in ((167, 0.0), (168, -5.0)):
                held = eccodes.codes_grib_new_from_samples(
                    f"regular_ll_sfc_grib{edition}"
                )
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
                    "bitsPerValue": 16,
                }.items():
                    eccodes.codes_set(held, key, value)
                eccodes.codes_set(held, "paramId", number)
                eccodes.codes_set_values(held, rng.uniform(275, 295, 12) + away)
                out += eccodes.codes_get_message(held)
                eccodes.codes_release(held)
        found[f"edition{edition}.grib"] = out
    return found


@cache
def _folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="fuzz-"))


def grid_file(data: bytes) -> str:
    """Open a grid and read a part of it, as a map does block by block."""
    path = _folder() / "grid"
    path.write_bytes(data)
    return _asked(path)


def zarr_store(data: bytes) -> str:
    """Open a zarr store: its files as a folder, or the zip itself if it is damaged."""
    path = _folder() / "grid.zarr"
    shutil.rmtree(path, ignore_errors=True)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for info in archive.infolist():
                part = path / info.filename
                if path in part.resolve().parents and not info.is_dir():
                    part.parent.mkdir(parents=True, exist_ok=True)
                    part.write_bytes(archive.read(info))
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, ValueError):
        return grid_file(data)
    return _asked(path)


def _asked(path: Path) -> str:
    got = part_of(path)
    humid = got["relative_humidity"].to_numpy()
    known = humid[np.isfinite(humid)]
    if known.size and not (known.min() >= 0.0 and known.max() <= 100.0):
        raise BadAnswerError(f"humidity of {known.min()} to {known.max()} % let in")
    if not known.size:
        raise InputError("nothing in the part that was read")
    return "repaired" if repairs_of(got) else "read"


def part_of(path: Path) -> xr.Dataset:
    """Return what a map would read first of a grid, up to 48 times of it."""
    from emcforecast.grid.blocks import plan_blocks
    from emcforecast.grid.read import open_grid
    from emcforecast.grid.run import run_blocks

    ds = open_grid(path)
    try:
        plan = plan_blocks(ds)
        first = next(plan.regions())
        got: list[xr.Dataset] = []
        run_blocks(
            [(0, first)],
            lambda region: ds.isel(region).isel(time=slice(0, 48)),
            lambda number, region, part: got.append(part),
            threads=1,
        )
    finally:
        ds.close()
    return got[0].assign_attrs(ds.attrs)
