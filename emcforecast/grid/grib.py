"""GRIB files: the variables of a map among all their messages, each opened lazily."""

from __future__ import annotations

import tempfile
from collections.abc import Collection
from pathlib import Path
from typing import Any

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.grid.grib_messages import require_messages
from emcforecast.grid.names import grid_quantity
from emcforecast.language import _
from emcforecast.weather.formats.content import count_as_damage

Message = tuple[str, int, str, int, str]
_KEYS = ("cfVarName", "paramId", "typeOfLevel", "level", "stepType")
_NEAR_GROUND = {
    "surface": range(1),
    "meanSea": range(1),
    "heightAboveGround": range(13),
    "heightAboveGroundLayer": range(13),
}


def open_grib(path: Path, shown: str, also: Collection[str] = ()) -> list[xr.Dataset]:
    """Open each variable near the ground that a map can use; `also`: by name.

    Raises `WeatherError` where the file has none.
    """
    from gribapi.errors import GribInternalError

    count_as_damage(GribInternalError)
    require_messages(path, shown)
    found = _messages(path)
    wanted = [m for m in found if m[0] in also or _serves(m)]
    if not wanted:
        names = ", ".join(dict.fromkeys(f"{m[0]} ({m[2]} {m[3]})" for m in found))
        raise WeatherError(
            _(
                "{shown}: no temperature, humidity or pressure near the "
                "ground among its messages ({names}); get those at 2 m",
                shown=shown,
                names=names[:200],
            )
        )
    # One index for all of them, and none beside the file.
    with tempfile.TemporaryDirectory(prefix="emcforecast-") as folder:
        return [_open(path, message, Path(folder) / "grib.idx") for message in wanted]


def _messages(path: Path) -> list[Message]:
    import eccodes

    found: dict[Message, None] = {}
    with path.open("rb") as file:
        while True:
            held = eccodes.codes_grib_new_from_file(file, headers_only=True)
            if held is None:
                return list(found)
            try:
                name, *rest = (eccodes.codes_get(held, key) for key in _KEYS)
                number, kind, level, step = rest
                found[name, int(number), kind, int(level), step] = None
            finally:
                eccodes.codes_release(held)


def _serves(message: Message) -> bool:
    name, number, kind, level, _step = message
    if level not in _NEAR_GROUND.get(kind, ()):
        return False
    about = xr.DataArray(0.0, attrs={"GRIB_paramId": number, "units": "m"})
    return grid_quantity(name, about) is not None


def _open(path: Path, message: Message, index: Path) -> xr.Dataset:
    _name, number, kind, level, step = message
    only: dict[str, Any] = {
        "paramId": number,
        "typeOfLevel": kind,
        "level": level,
        "stepType": step,
    }
    return xr.open_dataset(
        path,
        engine="cfgrib",
        decode_times=False,
        decode_timedelta=False,
        backend_kwargs={"indexpath": str(index), "filter_by_keys": only},
    )
