"""Headers of classic NetCDF files, looked through before the library trusts them.

The library follows a damaged count for minutes, and reads what a file cut off no longer
holds as zeros. Format: NetCDF classic format specification, and its 64-bit forms.
"""

from __future__ import annotations

from math import prod
from pathlib import Path

from emcforecast.errors import WeatherError
from emcforecast.language import _

_DIMENSIONS, _VARIABLES, _ATTRIBUTES = 10, 11, 12
_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 4, 6: 8, 7: 1, 8: 2, 9: 4, 10: 8, 11: 8}
LARGEST_HEADER = 16_000_000
"""Bytes; thousands of variables with long descriptions fit."""


class _Header:
    """Reads numbers, names and lists one after the other, never beyond the bytes."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.version = data[3]
        self.at = 4
        self.long = 8 if self.version == 5 else 4

    def number(self, size: int = 4) -> int:
        if self.at + size > len(self.data):
            raise ValueError("the header ends too early")
        self.at += size
        return int.from_bytes(self.data[self.at - size : self.at], "big")

    def count(self, each: int = 1) -> int:
        """Read how many follow, of `each` bytes at least."""
        found = self.number(self.long)
        if found * each > len(self.data) - self.at:
            raise ValueError(f"a count of {found} where fewer bytes follow")
        return found

    def skip(self, size: int) -> None:
        self.at += -(-size // 4) * 4

    def listed(self, tag: int) -> int:
        """Read the tag of a list and its length; an absent one is of none."""
        found = self.number()
        count = self.count(4)
        if found not in (0, tag) or (found == 0 and count):
            raise ValueError("a list of another kind than is due")
        return count

    def attributes(self) -> None:
        for _each in range(self.listed(_ATTRIBUTES)):
            self.skip(self.count())
            size = self.kind()
            self.skip(size * self.count(size))

    def kind(self) -> int:
        code = self.number()
        if code not in _BYTES:
            raise ValueError(f"values of an unknown type {code}")
        return _BYTES[code]


def require_whole(path: Path, shown: str) -> None:
    """Refuse a classic file whose header contradicts itself or the file's length.

    Raises `WeatherError`.
    """
    with path.open("rb") as file:
        data = file.read(LARGEST_HEADER)
    try:
        need = _need(_Header(data))
    except ValueError as error:
        raise WeatherError(
            _(
                "{shown}: the NetCDF file is cut off or damaged ({error}); "
                "get it again",
                shown=shown,
                error=error,
            )
        ) from error
    have = path.stat().st_size
    # The last piece need not be filled up.
    if need > have + 3:
        raise WeatherError(
            _(
                "{shown}: the NetCDF file is cut off: {have:,} of {need:,} "
                "bytes are there; get it again",
                shown=shown,
                have=have,
                need=need,
            )
        )


def _need(header: _Header) -> int:
    """Return how many bytes a file of such a header has."""
    records = header.number(header.long)
    if records == (1 << 8 * header.long) - 1:  # written as a stream: not known
        records = 0
    lengths = []
    for _each in range(header.listed(_DIMENSIONS)):
        header.skip(header.count())
        lengths.append(header.number(header.long))
    header.attributes()
    fixed, along = [0], []
    for _each in range(header.listed(_VARIABLES)):
        header.skip(header.count())
        dims = [header.number(header.long) for _ in range(header.count(header.long))]
        if any(dim >= len(lengths) for dim in dims):
            raise ValueError("a dimension that is not there")
        header.attributes()
        size = header.kind()
        header.number(header.long)  # its length again, capped where it is large
        begin = header.number(4 if header.version == 1 else 8)
        shape = [lengths[dim] for dim in dims]
        if shape and shape[0] == 0:
            along.append((begin, size * prod(shape[1:])))
        else:
            fixed.append(begin + size * prod(shape))
    step = sum(-(-size // 4) * 4 for _, size in along)
    if len(along) == 1:
        step = along[0][1]
    ends = [begin + (records - 1) * step + size for begin, size in along if records]
    return max(fixed + ends)
