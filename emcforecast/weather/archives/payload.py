"""Bytes of a reply to text: unpacking and decoding."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from typing import Any

from emcforecast.errors import ArchiveError

GZIP = b"\x1f\x8b"
ZIP = b"PK\x03\x04"
#: More than forty years of the widest reply; beyond it the reply is a mistake.
MOST = 2_000_000_000


def unpack_head(head: bytes) -> bytes:
    """Unpack as much as can be seen of a gzip or zip file's first member.

    Parameters
    ----------
    head : bytes
        Beginning of a file.

    Returns
    -------
    bytes
        Beginning of the content; `head` itself when it is not packed.
    """
    try:
        if head.startswith(GZIP):
            return zlib.decompressobj(31).decompress(head, 65536)
        if head.startswith(ZIP) and len(head) > 30:
            method, name, extra = (
                *struct.unpack_from("<H", head, 8),
                *struct.unpack_from("<HH", head, 26),
            )
            body = head[30 + name + extra :]
            return zlib.decompressobj(-15).decompress(body, 65536) if method else body
    except (zlib.error, struct.error):
        return b""
    return head


def first_line(head: bytes) -> str:
    """Return the first line of a packed or unpacked file, without its BOM.

    Parameters
    ----------
    head : bytes
        Beginning of a file.

    Returns
    -------
    str
        The line.
    """
    return decode(unpack_head(head)).lstrip().partition("\n")[0].strip()


def unpack(payload: bytes) -> bytes:
    """Return the content of a gzip file; anything else as it is.

    Parameters
    ----------
    payload : bytes
        A reply.

    Returns
    -------
    bytes
        The unpacked reply.

    Raises
    ------
    ArchiveError
        When the file is cut short or far too big.
    """
    if not payload.startswith(GZIP):
        return payload
    engine = zlib.decompressobj(31)
    parts = []
    size = 0
    try:
        while payload:
            parts.append(engine.decompress(payload, MOST))
            size += len(parts[-1])
            if size >= MOST or engine.unconsumed_tail:
                raise ArchiveError("the packed reply is far too big to be weather")
            if not engine.eof:
                raise ArchiveError("the packed reply is cut short; fetch it again")
            payload = engine.unused_data
            if payload.startswith(GZIP):
                engine = zlib.decompressobj(31)
            else:
                break
    except zlib.error as error:
        raise ArchiveError(
            f"the packed reply is damaged ({error}); fetch it again"
        ) from error
    return b"".join(parts)


def members(payload: bytes) -> dict[str, bytes]:
    """Return the files within a zip reply.

    Parameters
    ----------
    payload : bytes
        A zip file.

    Returns
    -------
    dict of str to bytes
        Content by name.

    Raises
    ------
    ArchiveError
        When the zip file is cut short, damaged or far too big.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(payload)) as box:
            if sum(item.file_size for item in box.infolist()) > MOST:
                raise ArchiveError("the zip file is far too big to be weather")
            return {name: box.read(name) for name in box.namelist()}
    except (
        *(zipfile.BadZipFile, zlib.error, EOFError, OSError),
        *(NotImplementedError, RuntimeError, ValueError),
    ) as error:
        raise ArchiveError(
            f"the zip file is damaged or cut short ({error}); fetch it again"
        ) from error


def decode(payload: bytes) -> str:
    """Decode text: UTF-8 with or without a mark, UTF-16 with one, else cp1252.

    Parameters
    ----------
    payload : bytes
        Text of unknown encoding.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> decode("Temp (°C)".encode("cp1252"))
    'Temp (°C)'
    """
    if payload.startswith((b"\xff\xfe", b"\xfe\xff")):
        return payload.decode("utf-16", errors="replace")
    try:
        return payload.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":  # a head cut within a letter
            return payload[: error.start].decode("utf-8-sig")
        return payload.decode("cp1252", errors="replace")


def document(payload: bytes, archive: str) -> Any:
    """Read a JSON reply.

    Parameters
    ----------
    payload : bytes
        The reply.
    archive : str
        Whose reply it should be, for the error.

    Returns
    -------
    object
        The document.

    Raises
    ------
    ArchiveError
        When it is cut short or is no JSON at all.
    """
    text = decode(unpack(payload))
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        start = text.lstrip()[:1]
        what = "is cut short" if start in ("{", "[") else "is not JSON"
        raise ArchiveError(
            f"the {archive} reply {what} (character {error.pos}); fetch it again"
        ) from error
