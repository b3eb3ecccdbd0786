"""Replies that are final, kept as read, so that forty years need not be read again."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from contextlib import suppress
from dataclasses import astuple
from functools import cache
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.weather.archives import record
from emcforecast.weather.archives.raw import UNITS
from emcforecast.weather.archives.record import Archive, Request
from emcforecast.weather.hints import Hints


@cache
def _readers() -> str:
    """Mark the state of the readers, so that a changed one reads anew."""
    files = sorted(Path(record.__file__).parents[1].rglob("*.py"))
    marks = [
        (file.name, file.stat().st_size, file.stat().st_mtime_ns) for file in files
    ]
    return repr(marks)


def kept_path(folder: Path, request: Request, archive: Archive, hints: Hints) -> Path:
    """Name the file that keeps what a reply was read to.

    Parameters
    ----------
    folder : pathlib.Path
        The cache.
    request : Request
        What was asked.
    archive : Archive
        Of whom.
    hints : Hints
        What the person said, since it changes how a reply is read.

    Returns
    -------
    pathlib.Path
        The file, which may not exist.
    """
    mark = repr((archive.id, request.url, request.params, request.body))
    mark += repr(astuple(hints)) + _readers()
    return folder / f"read-{hashlib.sha256(mark.encode()).hexdigest()}.npz"


def load_kept(path: Path) -> xr.Dataset | None:
    """Return a kept raw series, or None when there is none that is whole.

    Parameters
    ----------
    path : pathlib.Path
        As `kept_path` names it.

    Returns
    -------
    xarray.Dataset or None
        The raw series.
    """
    try:
        with np.load(path, allow_pickle=False) as box:
            attrs = json.loads(str(box["attrs"]))
            time = box["time"].astype("datetime64[ns]")
            return xr.Dataset(
                {
                    name: ("time", box[name], {"units": units})
                    for name, units in UNITS.items()
                    if name in box
                },
                coords={"time": time},
                attrs=attrs,
            )
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def save_kept(path: Path, raw: xr.Dataset) -> None:
    """Keep a raw series; a cache that cannot be written costs only time.

    Parameters
    ----------
    path : pathlib.Path
        As `kept_path` names it.
    raw : xarray.Dataset
        What a reply was read to.
    """
    arrays = {str(name): raw[name].to_numpy() for name in raw.data_vars}
    arrays["time"] = raw["time"].to_numpy().astype(np.int64)
    arrays["attrs"] = np.array(json.dumps(raw.attrs))
    with suppress(OSError):
        number, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(number, "wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]
        Path(part).replace(path)
