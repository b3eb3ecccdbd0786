"""What a weather file format is to the reader: a name, a look, and a way to read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from emcforecast.weather.hints import Hints

if TYPE_CHECKING:
    from pathlib import Path

    import xarray as xr

#: How much of a file a format may look at to recognise itself (bytes).
HEAD = 65536


@dataclass(frozen=True)
class Format:
    """One kind of weather file.

    Attributes
    ----------
    name : str
        What it is, in words a person knows.
    sniff : callable
        ``sniff(head, name) -> bool`` from the first `HEAD` bytes, unpacked; the
        file's name is given but is never enough.
    read : callable
        ``read(data, hints) -> Dataset``: the whole content to a weather series.
    read_path : callable, optional
        ``read_path(path, hints) -> Dataset`` for files too big to hold in memory.
    """

    name: str
    sniff: Callable[[bytes, str], bool]
    read: Callable[[bytes, Hints], xr.Dataset]
    read_path: Callable[[Path, Hints], xr.Dataset] | None = None
