"""Files of grids -> datasets as they stand in them, opened lazily."""

from __future__ import annotations

import atexit
import logging
import re
import shutil
import tempfile
import warnings
from collections.abc import Collection, Iterable
from glob import glob
from pathlib import Path
from typing import Any

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.files import LARGEST, contents, exists, is_folder, open_plain, unopened
from emcforecast.grid.bounded import bounded
from emcforecast.grid.classic import require_whole
from emcforecast.grid.packing import opened
from emcforecast.language import N_, _
from emcforecast.weather.formats.content import (
    ZIP,
    describe_unknown,
    whole,
    zip_members,
)
from emcforecast.weather.formats.netcdf import require_sound

ZARR_MARKS = ("zarr.json", ".zgroup", ".zmetadata", ".zarray")
NETCDF_MARKS = (b"\x89HDF", b"CDF\x01", b"CDF\x02", b"CDF\x05")
_GZIP = b"\x1f\x8b"
HEAD = 4096


def open_raw(
    paths: str | Path | Iterable[str | Path], also: Collection[str] = ()
) -> list[xr.Dataset]:
    """Open grids as they stand: times not decoded, packing and masks undone.

    `paths`: files, zarr stores, or patterns with ``*``. A GRIB file or a ZIP gives
    several, GRIB those that a map can use and, `also`, those of these names. Values are
    read when they are needed, in the process that needs them. Raises `WeatherError`
    for what is no grid.
    """
    opened: list[xr.Dataset] = []
    for path in expanded(paths):
        opened += _open(path, str(path), also)
    return opened


def expanded(paths: str | Path | Iterable[str | Path]) -> list[Path]:
    """Return the paths that are meant, patterns with ``*`` written out in order.

    Raises `WeatherError` for an address on the network or a name nobody has.
    """
    given = [paths] if isinstance(paths, str | Path) else list(paths)
    if not given:
        raise WeatherError(_("no grid is given; name a file or a zarr store"))
    found: list[Path] = []
    for item in given:
        text = str(item)
        if re.match(r"[a-z0-9+]{2,}://", text, re.IGNORECASE):
            raise WeatherError(
                _(
                    "{text}: grids are read from this machine; download it first",
                    text=text[:80],
                )
            )
        if "*" in text and not exists(item):
            names = sorted(glob(text))  # noqa: PTH207
            if not names:
                raise WeatherError(
                    _("{text}: no file has such a name. Check it.", text=text)
                )
            found += [Path(name) for name in names]
        else:
            found.append(Path(item))
    return found


def _open(path: Path, shown: str, also: Collection[str]) -> list[xr.Dataset]:
    if is_folder(path):
        if any(exists(path / mark) for mark in ZARR_MARKS):
            return [_zarr(path, shown)]
        raise WeatherError(
            _(
                "{shown}: is a folder and no zarr store. Name the files in "
                "it, such as '{folder}/*.nc'",
                shown=shown,
                folder=shown.rstrip("/"),
            )
        )
    try:
        with open_plain(path, WeatherError) as file:
            head = file.read(HEAD)
    except OSError as error:
        raise WeatherError(unopened(path, error)) from error
    if head.startswith(NETCDF_MARKS):
        return [_netcdf(path, shown, head)]
    if head.startswith(ZIP):
        return _zip(path, shown, also)
    if b"GRIB" in head[:512]:
        return _grib(path, shown, also)
    if head.startswith(_GZIP):
        raise WeatherError(
            _("{shown}: is packed with gzip. Unpack it first: gunzip -k", shown=shown)
        )
    what = describe_unknown(head)
    unlike = N_(
        "{shown}: is no NetCDF, zarr or GRIB. Maps are made from gridded files; for "
        "one place use floor"
    )
    like = N_(
        "{shown}: is no NetCDF, zarr or GRIB: {what}. Maps are made from gridded "
        "files; for one place use floor"
    )
    raise WeatherError(_(like if what else unlike, shown=shown, what=what))


def _netcdf(path: Path, shown: str, head: bytes) -> xr.Dataset:
    require("netCDF4", "grid")
    with whole(f"{shown}:"), warnings.catch_warnings():
        # A dimension that comes twice is refused below; marks of gaps that fit no
        # value mark none.
        warnings.simplefilter("ignore")
        if head.startswith(b"\x89HDF"):
            require_sound(path, LARGEST)
        else:
            require_whole(path, shown)
        return bounded(opened(path, engine="netcdf4"), shown)


def _zarr(path: Path, shown: str) -> xr.Dataset:
    require("zarr", "grid")
    with whole(f"{shown}:"), warnings.catch_warnings():
        # Stores without a summary of their metadata are read all the same; what is no
        # array is missed where it is needed.
        warnings.simplefilter("ignore")
        logging.getLogger("asyncio").addFilter(_is_not_of_zarr)
        from emcforecast.grid.blosc_pieces import blosc_checked

        store: Any = path
        if not is_folder(path):
            from zarr.storage import ZipStore

            store = ZipStore(path, mode="r")
        with blosc_checked():
            held = opened(store, engine="zarr")
        return bounded(held, shown)


def _is_not_of_zarr(record: logging.LogRecord) -> bool:
    """Tell what zarr's tasks say of a damaged store, which is refused, from others."""
    return "zarr" not in record.getMessage()


def _zip(path: Path, shown: str, also: Collection[str]) -> list[xr.Dataset]:
    import zipfile

    with whole(f"{shown}:"), zipfile.ZipFile(path) as archive:
        names = {name.rpartition("/")[2] for name in archive.namelist()}
    if names & set(ZARR_MARKS):
        return [_zarr(path, shown)]
    try:
        members = zip_members(contents(path, WeatherError))
    except WeatherError as error:
        raise WeatherError(f"{shown}: {error}") from error
    folder = Path(tempfile.mkdtemp(prefix="emcforecast-"))
    # Lazily read until the program ends.
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    opened: list[xr.Dataset] = []
    for number, (name, data) in enumerate(members.items()):
        if data.startswith(NETCDF_MARKS) or b"GRIB" in data[:512]:
            unpacked = folder / f"{number}{Path(name).suffix}"
            unpacked.write_bytes(data)
            opened += _open(unpacked, f"{shown}, {name}", also)
    if not opened:
        raise WeatherError(
            _("{shown}: a zip without NetCDF or GRIB in it. Unpack it", shown=shown)
        )
    return opened


def _grib(path: Path, shown: str, also: Collection[str]) -> list[xr.Dataset]:
    require("cfgrib", "grib")
    from emcforecast.grid.grib import open_grib

    with whole(f"{shown}:"):
        return open_grib(path, shown, also)


def require(package: str, extra: str) -> None:
    """Refuse when a package of an extra is not installed, saying how to get it."""
    from importlib.util import find_spec

    if find_spec(package) is None:
        raise WeatherError(
            _(
                "this needs the package {package}; get it with: pip install "
                "'emcforecast[{extra}]'",
                package=package,
                extra=extra,
            )
        )
