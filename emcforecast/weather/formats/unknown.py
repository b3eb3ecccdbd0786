"""What a file is that is no weather, told by its first bytes."""

from __future__ import annotations

_SIGNS = (
    (b"GRIB", "it is GRIB; ask the archive for NetCDF, or convert it"),
    (b"%PDF", "it is a PDF"),
    (b"\x89PNG", "it is a picture"),
    (b"\xff\xd8\xff", "it is a picture"),
    (b"SQLite format 3", "it is a database; export the table as CSV"),
    (b"PAR1", "it is Parquet; write it as CSV"),
    (b"\xd0\xcf\x11\xe0", "it is an old spreadsheet; save the sheet as CSV"),
    (b"CDF\x05", "it is NetCDF of the 64-bit data kind; write it as NetCDF-4"),
    (b"{", "it is JSON of no archive that is known"),
    (b"[", "it is JSON of no archive that is known"),
    (b"<", "it is a web page or XML; save the data themselves"),
    (b"II*\x00", "it is a GeoTIFF; take the monthly values at your place from it"),
)


def what_it_is(data: bytes) -> str:
    """Say what an unknown file seems to be, and what to do.

    Parameters
    ----------
    data : bytes
        Its content.

    Returns
    -------
    str
        Words to follow "not a weather format that is known"; "" when nothing is seen.

    Examples
    --------
    >>> what_it_is(b"%PDF-1.7")
    ': it is a PDF'
    """
    if data[257:262] == b"ustar":
        return ": it is a bundle of files; unpack it and give the folder"
    for sign, words in _SIGNS:
        if data[:4096].lstrip(b"\xef\xbb\xbf \r\n\t").startswith(sign):
            return f": {words}"
    return " (it looks binary)" if b"\x00" in data[:4096] else ""
