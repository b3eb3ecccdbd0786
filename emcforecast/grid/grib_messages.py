"""GRIB messages walked through by their lengths before the library decodes them.

The library ends the whole program on some damaged messages. Formats: WMO Manual on
Codes, FM 92 GRIB editions 1 and 2.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO

from emcforecast.errors import WeatherError
from emcforecast.language import _

_MARK, _END = b"GRIB", b"7777"
_BETWEEN = 65536
"""Bytes between messages that are passed over, as paddings and bulletins' headings."""
_GRIDS, _MAPS = 0x80, 0x40
"""Flags of edition 1: a grid description and a map of the points follow."""


def require_messages(path: Path, shown: str) -> None:
    """Refuse a file whose messages are cut off or whose sections do not fit them.

    Raises `WeatherError`.
    """
    size = path.stat().st_size
    try:
        with path.open("rb") as file:
            at = 0
            while (at := _next(file, at)) >= 0:
                at = _message(file, at, size)
    except ValueError as error:
        raise WeatherError(
            _(
                "{shown}: the GRIB file is cut off or damaged ({error}); get it again",
                shown=shown,
                error=error,
            )
        ) from error


def _next(file: BinaryIO, at: int) -> int:
    file.seek(at)
    found = file.read(_BETWEEN).find(_MARK)
    return at + found if found >= 0 else -1


def _message(file: BinaryIO, at: int, size: int) -> int:
    """Walk one message; return where the next may begin."""
    file.seek(at)
    head = file.read(16)
    if len(head) < 16:
        raise ValueError("its last message is a stump")
    if head[7] not in (1, 2):
        raise ValueError(f"a message of edition {head[7]}")
    length = int.from_bytes(head[4:7] if head[7] == 1 else head[8:16], "big")
    end = at + length
    if end > size or length < 40:
        raise ValueError(f"a message of {length} bytes where {size - at} are there")
    file.seek(end - 4)
    if file.read(4) != _END:
        raise ValueError("a message without its end")
    walk = _first_edition if head[7] == 1 else _second_edition
    if walk(file, at, end - 4) != end - 4:
        raise ValueError("sections that do not fill their message")
    return end


def _section(file: BinaryIO, at: int, end: int, digits: int) -> int:
    file.seek(at)
    length = int.from_bytes(file.read(digits), "big")
    if not digits < length <= end - at:
        raise ValueError(f"a section of {length} bytes")
    return length


def _first_edition(file: BinaryIO, at: int, end: int) -> int:
    at += 8
    file.seek(at)
    flags = file.read(8)[7]
    product = _section(file, at, end, 3)
    if product < 28:
        raise ValueError("a product of too few bytes")
    at += product
    for flag in (_GRIDS, _MAPS):
        if flags & flag:
            at += _section(file, at, end, 3)
    # The data may be padded; nothing but the end follows them.
    return at + _section(file, at, end, 3)


def _second_edition(file: BinaryIO, at: int, end: int) -> int:
    at += 16
    last = 0
    while at < end:
        length = _section(file, at, end, 4)
        file.seek(at + 4, os.SEEK_SET)
        number = file.read(1)[0]
        if not 1 <= number <= 7 or (number <= last and (last, number) not in _AGAIN):
            raise ValueError(f"section {number} after section {last}")
        last = number
        at += length
    if last != 7:
        raise ValueError("a message without data")
    return at


_AGAIN = {(7, 2), (7, 3), (7, 4)}
"""Sections that may begin a further field of one message."""
