"""Take compressed files apart by what they are, not by how they are called."""

from __future__ import annotations

import bz2
import gzip
import io
import lzma
import zipfile
import zlib

from emcforecast.errors import WeatherError

LARGEST = 2_000_000_000
"""Most bytes one packed member may unfold to."""


def is_zip(head: bytes) -> bool:
    """Tell a zip file by its first bytes."""
    return head[:4] == b"PK\x03\x04"


def unwrapped(data: bytes, name: str) -> bytes:
    """Undo gzip, bzip2 or xz, however many times.

    Parameters
    ----------
    data : bytes
        The content.
    name : str
        Name of the file, for messages.

    Returns
    -------
    bytes
        What was inside; the same when nothing was packed.

    Raises
    ------
    WeatherError
        When it is cut off or damaged.

    Examples
    --------
    >>> import gzip
    >>> unwrapped(gzip.compress(b"time,temp_c"), "a")
    b'time,temp_c'
    """
    try:
        while True:
            if data[:2] == b"\x1f\x8b":
                data = gzip.decompress(data)
            elif data[:3] == b"BZh":
                data = bz2.decompress(data)
            elif data[:6] == b"\xfd7zXZ\x00":
                data = lzma.decompress(data)
            else:
                return data
    except (OSError, EOFError, zlib.error, lzma.LZMAError, ValueError) as error:
        raise WeatherError(
            f"{name}: the compressed file is cut off or damaged ({error}); get it again"
        ) from error


def zip_members(data: bytes, name: str) -> dict[str, bytes]:
    """Return the files within a zip.

    Parameters
    ----------
    data : bytes
        The zip.
    name : str
        Its name, for messages.

    Returns
    -------
    dict of str to bytes
        Content by name, largest first, folders and hidden files left out.

    Raises
    ------
    WeatherError
        When it is damaged, locked, empty, or a spreadsheet.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = [info for info in archive.infolist() if not info.is_dir()]
            names = {info.filename for info in infos}
            if any(n.startswith(("xl/", "content.xml")) for n in names):
                raise WeatherError(
                    f"{name}: a spreadsheet; save the sheet as CSV and give that"
                )
            if sum(info.file_size for info in infos) > LARGEST:
                raise WeatherError(
                    f"{name}: the zip unfolds to over 2 GB; take it apart"
                )
            infos.sort(key=lambda info: -info.file_size)
            return {
                info.filename: archive.read(info)
                for info in infos
                if not info.filename.startswith(("__MACOSX", "."))
            }
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError) as error:
        raise WeatherError(
            f"{name}: the zip is cut off or damaged ({error}); get it again"
        ) from error
    except (RuntimeError, NotImplementedError) as error:
        raise WeatherError(f"{name}: the zip cannot be opened ({error})") from error
