"""Where replies are kept, for how long, and what final ones were read to."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import astuple
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from platformdirs import user_cache_path
from requests_cache.backends.filesystem import FileDict

from emcforecast.weather.archives import record
from emcforecast.weather.archives.raw import UNITS
from emcforecast.weather.archives.record import Archive, Request
from emcforecast.weather.hints import Hints

#: Environment variable that moves the cache.
CACHE_VARIABLE = "EMCFORECAST_CACHE"
#: A span that ended longer ago than this no longer changes.
SETTLED = timedelta(days=30)


def is_settled(request: Request, on: date | None = None) -> bool:
    """Return whether what a request brings no longer changes."""
    day = date.today() if on is None else on
    return request.last is not None and request.last + SETTLED < day


def is_fresh(path: Path, request: Request) -> bool:
    """Return whether a kept reply need not be asked for again."""
    if not path.exists():
        return False
    written = datetime.fromtimestamp(path.stat().st_mtime)
    young = datetime.now() - written < timedelta(days=1)
    return young or is_settled(request, written.date())


def cache_folder() -> Path:
    """Return where replies are kept."""
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named) if named else user_cache_path("emcforecast") / "archives"


class Files(FileDict):
    """Replies as files, written whole or not at all, whoever else writes them."""

    broken: Callable[[OSError], None]

    def __setitem__(self, key: str, value: Any) -> None:
        """Keep a reply; a folder that cannot be written is told, not fatal."""
        target = self._key2path(key)
        try:
            number, name = tempfile.mkstemp(dir=self.cache_dir, suffix=".part")
            with os.fdopen(number, "w", encoding="utf-8") as file:
                file.write(self.serialize(value))
            Path(name).replace(target)
        except OSError as error:
            self.broken(error)


@cache
def _readers() -> str:
    """Mark the state of the readers, so that a changed one reads anew."""
    files = sorted(Path(record.__file__).parents[1].rglob("*.py"))
    marks = [
        (file.name, file.stat().st_size, file.stat().st_mtime_ns) for file in files
    ]
    return repr(marks)


def parsed_path(folder: Path, request: Request, archive: Archive, hints: Hints) -> Path:
    """Name the file that keeps what a reply was read to."""
    mark = repr((archive.id, request.url, request.params, request.body))
    mark += repr(astuple(hints)) + _readers()
    return folder / f"read-{hashlib.sha256(mark.encode()).hexdigest()}.npz"


def load_parsed(path: Path) -> xr.Dataset | None:
    """Return a kept raw series, or None when there is none that is whole."""
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


def save_parsed(path: Path, raw: xr.Dataset) -> None:
    """Keep a raw series; a cache that cannot be written costs only time."""
    arrays = {str(name): raw[name].to_numpy() for name in raw.data_vars}
    arrays["time"] = raw["time"].to_numpy().astype(np.int64)
    arrays["attrs"] = np.array(json.dumps(raw.attrs))
    with suppress(OSError):
        number, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(number, "wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]
        Path(part).replace(path)
