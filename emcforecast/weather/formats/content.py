"""Bytes of a file or reply -> its content: unpacked and decoded."""

from __future__ import annotations

import bz2
import gzip
import io
import lzma
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from emcforecast.errors import InputError, WeatherError
from emcforecast.files import LARGEST
from emcforecast.language import N_, _

ZIP = b"PK\x03\x04"
UTF8_MARK = b"\xef\xbb\xbf"
DENSEST = 200
"""Weather packs to a tenth or so; what packs to less than one in this many is none."""
SMALL = 20_000_000
"""Below so many bytes nothing is too dense."""
MOST_MEMBERS = 500
"""More files than this in a zip are hardly weather of one place."""
DEEPEST = 3
"""As often may a file be packed."""
XZ_MEMORY = 128_000_000
"""Bytes that unpacking xz may take; its densest usual setting takes 65 million."""

_PACKED: tuple[tuple[bytes, Callable[[io.BytesIO], Any]], ...] = (
    (b"\x1f\x8b", lambda held: gzip.GzipFile(fileobj=held)),
    (b"BZh", bz2.BZ2File),
    (b"\xfd7zXZ\x00", lambda held: _xz(held)),
)
_MARKS = (
    (UTF8_MARK, "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_CONTROL = tuple(bytes([code]) for code in (*range(7), 14, 15, 16, 17, 18, 20, 21, 127))
_SIGNS = (
    (b"GRIB", N_("it is GRIB; ask the archive for NetCDF, or convert it")),
    (b"%PDF", N_("it is a PDF")),
    (b"\x89PNG", N_("it is a picture")),
    (b"\xff\xd8\xff", N_("it is a picture")),
    (b"SQLite format 3", N_("it is a database; export the table as CSV")),
    (b"PAR1", N_("it is Parquet; write it as CSV")),
    (b"\xd0\xcf\x11\xe0", N_("it is an old spreadsheet; save the sheet as CSV")),
    (b"CDF\x05", N_("it is NetCDF of the 64-bit data kind; write it as NetCDF-4")),
    (b"{", N_("it is JSON of no archive that is known")),
    (b"[", N_("it is JSON of no archive that is known")),
    (b"<", N_("it is a web page or XML; save the data themselves")),
    (b"II*\x00", N_("it is a GeoTIFF; take the monthly values at your place from it")),
)


def unpack(data: bytes, refusal: type[InputError] = WeatherError) -> bytes:
    """Undo gzip, bzip2 or xz, and take a byte order mark away from before JSON.

    Examples
    --------
    >>> import gzip
    >>> unpack(gzip.compress(b"time,temp_c"))
    b'time,temp_c'
    """
    for _layer in range(DEEPEST + 1):
        engine = next((make for mark, make in _PACKED if data.startswith(mark)), None)
        if engine is None:
            bare = data.removeprefix(UTF8_MARK)
            return bare if bare[:1] in (b"{", b"[") else data
        try:
            with engine(io.BytesIO(data)) as held:
                data = _within_bounds(held, len(data), LARGEST, refusal)
        except InputError:
            raise
        except (OSError, EOFError, zlib.error, lzma.LZMAError, ValueError) as error:
            why = str(error)[:80]
            raise refusal(
                _(
                    "the compressed file is cut off or damaged ({why}); get it again",
                    why=why,
                )
            ) from error
    raise refusal(
        _("packed over {deepest} times; give the file itself", deepest=DEEPEST)
    )


def _xz(held: io.BytesIO) -> lzma.LZMAFile:
    """Open xz, unless it asks for more memory than any weather needs."""
    lzma.LZMADecompressor(memlimit=XZ_MEMORY).decompress(held.read(4096), 1)
    held.seek(0)
    return lzma.LZMAFile(held)


def _within_bounds(
    held: Any, packed: int, room: int, refusal: type[InputError]
) -> bytes:
    """Read what unfolds of `packed` bytes, up to `room` bytes and not too dense."""
    unfolded = io.BytesIO()
    size = 0
    while part := held.read(1 << 20):
        size += unfolded.write(part)
        if size > room:
            raise refusal(
                _(
                    "it unfolds to over {most_mb:,.0f} MB; take it apart",
                    most_mb=LARGEST / 1e6,
                )
            )
        if size > max(SMALL, DENSEST * packed):
            raise refusal(
                _(
                    "it unfolds to more than {densest} times its size, as no "
                    "weather does; give the file itself",
                    densest=DENSEST,
                )
            )
    return unfolded.getvalue()


def zip_members(
    data: bytes, refusal: type[InputError] = WeatherError
) -> dict[str, bytes]:
    """Return the files within a zip by name, without folders and hidden files."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = [info for info in archive.infolist() if not info.is_dir()]
            if any(i.filename.startswith(("xl/", "content.xml")) for i in infos):
                raise refusal(_("a spreadsheet; save the sheet as CSV and give that"))
            if len(infos) > MOST_MEMBERS:
                raise refusal(
                    _(
                        "the zip holds {count} files; give the one wanted",
                        count=len(infos),
                    )
                )
            held: dict[str, bytes] = {}
            room = LARGEST
            for info in infos:
                if info.filename.startswith(("__MACOSX", ".")):
                    continue
                if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                    raise refusal(_("the zip is packed in a rare way; unpack it"))
                with archive.open(info) as member:
                    size = info.compress_size
                    content = _within_bounds(member, size, room, refusal)
                room -= len(content)
                held[info.filename] = content
            return held
    except (RuntimeError, NotImplementedError) as error:
        raise refusal(_("the zip cannot be opened ({error})", error=error)) from error
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise refusal(
            _(
                "the zip is cut off or damaged ({error}); get it again",
                error=str(error)[:80],
            )
        ) from error


BROKEN: tuple[type[Exception], ...] = (
    *(OSError, ValueError, LookupError, RuntimeError, TypeError, EOFError, MemoryError),
    *(AssertionError, ArithmeticError, AttributeError, ImportError, struct.error),
    *(zipfile.BadZipFile, zlib.error, SystemError),
)
"""What a damaged or foreign file makes the libraries below a reader raise."""
_OF_EXTRAS: dict[type[Exception], None] = {}


def count_as_damage(kind: type[Exception]) -> None:
    """Take errors of a library that is not always there as damage of a file too."""
    _OF_EXTRAS[kind] = None


def _damage() -> tuple[type[Exception], ...]:
    return (*BROKEN, *_OF_EXTRAS)


@contextmanager
def whole(what: str, refusal: type[InputError] = WeatherError) -> Iterator[None]:
    """Refuse what a reader stumbles over as cut off or damaged.

    The one place where a reader's stumbling becomes a refusal; its cause is chained,
    so that a mistake in the reader itself can still be found.

    Parameters
    ----------
    what : str
        What is read, with its article.
    refusal : type
        What to raise.

    Examples
    --------
    >>> with whole("the reply"):
    ...     {}["hourly"]
    Traceback (most recent call last):
    emcforecast.errors.WeatherError: the reply is cut off or damaged, or of \
another shape ('hourly'); get it again
    """
    try:
        with np.errstate(all="ignore"):
            yield
    except InputError:
        raise
    except _damage() as error:
        why = str(error).strip().partition("\n")[0][:80] or type(error).__name__
        raise refusal(
            _(
                "{what} is cut off or damaged, or of another shape ({why}); "
                "get it again",
                what=what,
                why=why,
            )
        ) from error


def first_member(head: bytes) -> bytes:
    """Return as much as can be seen of the first file within a zip."""
    try:
        (method,) = struct.unpack_from("<H", head, 8)
        name, extra = struct.unpack_from("<HH", head, 26)
        body = head[30 + name + extra :]
        return zlib.decompressobj(-15).decompress(body, 65536) if method else body
    except (zlib.error, struct.error):
        return b""


def looks_like_text(head: bytes) -> bool:
    """Return whether bytes begin like a text file in a known encoding.

    Examples
    --------
    >>> looks_like_text(b"time,temp_c"), looks_like_text(bytes(range(40)))
    (True, False)
    """
    if not head.strip():
        return False
    if encoding_of(head).startswith("utf-16"):
        return True
    control = sum(head.count(code) for code in _CONTROL)
    return control == 0 and head[:4] != b"%PDF"


def encoding_of(head: bytes) -> str:
    """Return the codec of a text; "utf-8" also where only decoding will tell."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    sample = head[:400]
    # UTF-16 without its mark: every other byte of plain text is zero.
    if len(sample) >= 8:
        if sample[1::2].count(0) > 0.4 * len(sample) and not sample[0::2].count(0):
            return "utf-16-le"
        if sample[0::2].count(0) > 0.4 * len(sample) and not sample[1::2].count(0):
            return "utf-16-be"
    return "utf-8"


def decode(data: bytes) -> str:
    """Decode text: UTF-8 with or without mark, UTF-16, else Windows-1252.

    Examples
    --------
    >>> decode("Temp °C".encode("utf-16")) == decode("Temp °C".encode("cp1252"))
    True
    """
    text = _decoded(data)
    if "\x00" in text:
        raise WeatherError(
            _(
                "the file is not text, nor a weather format that is known; "
                "save it as CSV or NetCDF and try again"
            )
        )
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def _decoded(data: bytes) -> str:
    name = encoding_of(data[:65536])
    try:
        return data.decode(name)
    except UnicodeDecodeError as error:
        if name.startswith("utf-16"):
            return data[: len(data) // 2 * 2].decode(name, errors="replace")
        if error.reason == "unexpected end of data":  # cut within a letter
            return data.decode(name, errors="ignore")
        return data.decode("cp1252", errors="replace")


def first_line(head: bytes) -> str:
    """Return the first line of a file from its beginning, without its mark."""
    return _decoded(head).lstrip("\ufeff \r\n\t").partition("\n")[0].strip()


def bare_start(head: bytes) -> bytes:
    """Return the beginning of a file without its mark and blank lines."""
    return head.lstrip(b"\xef\xbb\xbf \r\n\t")


def describe_unknown(data: bytes) -> str:
    """Say what an unknown file seems to be; "" of what looks like text.

    Examples
    --------
    >>> describe_unknown(b"%PDF-1.7")
    'it is a PDF'
    """
    if data[257:262] == b"ustar":
        return _("it is a bundle of files; unpack it and give the folder")
    for sign, words in _SIGNS:
        if bare_start(data[:4096]).startswith(sign):
            return _(words)
    return _("it looks binary") if b"\x00" in data[:4096] else ""
