"""Blosc pieces of a zarr store are looked through before the library unpacks them.

The library believes what a piece says of its own length and of where its blocks begin,
and reads beyond the piece where it is damaged: the whole program ends.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numcodecs import registry
from numcodecs.blosc import Blosc
from zarr import config
from zarr.codecs import BloscCodec
from zarr.registry import register_codec

from emcforecast.weather.formats.netcdf import LARGEST_CHUNK

HEADER = 16
"""Bytes: version of the format and of the compressor, flags, size of a value; bytes
unpacked, bytes of a block, bytes packed."""
LATEST = 2
"""Version of the format of blosc 1."""
AS_IT_IS = 0x02
"""Flag of a piece that is not compressed."""


def require_sound_piece(piece: Any) -> None:
    """Refuse a blosc piece whose header or block starts leave the piece itself.

    Parameters
    ----------
    piece : buffer
        As it is stored.

    Raises
    ------
    ValueError
        With what is wrong.
    """
    held = memoryview(piece).cast("B")
    if len(held) < HEADER:
        raise ValueError(f"a blosc piece of {len(held)} bytes has no header")
    version, _, flags, size = held[:4]
    unpacked, block, packed = struct.unpack_from("<3i", held, 4)
    if not 1 <= version <= LATEST or size == 0:
        raise ValueError(f"a piece is no blosc (version {version}, values of {size})")
    if not HEADER <= packed <= len(held):
        raise ValueError(f"a blosc piece of {packed} bytes has {len(held)}")
    if not 0 <= unpacked <= LARGEST_CHUNK:
        raise ValueError(f"a blosc piece claims to unpack to {unpacked} bytes")
    if unpacked == 0:
        return
    if not 0 < block <= unpacked:
        raise ValueError(f"a blosc piece of {unpacked} bytes has blocks of {block}")
    if flags & AS_IT_IS:
        if packed != unpacked + HEADER:
            raise ValueError(f"a blosc piece of {unpacked} bytes is {packed} as it is")
        return
    blocks = -(-unpacked // block)
    first = HEADER + 4 * blocks
    if first > packed:
        raise ValueError(f"a blosc piece of {packed} bytes claims {blocks} blocks")
    starts = np.frombuffer(held, "<i4", blocks, HEADER)
    if starts.min() < first or starts.max() > packed - 4:
        raise ValueError("a block of a blosc piece begins outside of it")


class CheckedBlosc(Blosc):  # type: ignore[misc]
    """Blosc of zarr format 2, looking at each piece first."""

    def decode(self, buf: Any, out: Any = None) -> Any:
        """Unpack a piece; `ValueError` where it is damaged."""
        require_sound_piece(buf)
        return super().decode(buf, out)


class CheckedBloscCodec(BloscCodec):
    """Blosc of zarr format 3, looking at each piece first."""

    @property
    def _blosc_codec(self) -> Blosc:
        # No cached one: the parent keeps its own, unchecked, under the same name.
        said = super()._blosc_codec.get_config()
        return CheckedBlosc(**{name: said[name] for name in said if name != "id"})


@contextmanager
def blosc_checked() -> Iterator[None]:
    """Have every store that is opened within unpack blosc by the codecs of this module.

    An array keeps the codecs that it was opened with, on threads and in other processes
    too; stores opened outside are as they were.
    """
    register_codec("blosc", CheckedBloscCodec)
    registry.register_codec(CheckedBlosc, "blosc")
    try:
        with config.set({"codecs.blosc": _name(CheckedBloscCodec)}):
            yield
    finally:
        registry.register_codec(Blosc, "blosc")


def _name(codec: type) -> str:
    return f"{codec.__module__}.{codec.__qualname__}"
