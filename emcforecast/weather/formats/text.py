"""Bytes of a text file -> text, whatever encoding a logger or spreadsheet used."""

from __future__ import annotations

from emcforecast.errors import WeatherError

UTF8_MARK = b"\xef\xbb\xbf"
_MARKS = (
    (UTF8_MARK, "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


def looks_like_text(head: bytes) -> bool:
    """Tell whether bytes begin like a text file in a known encoding.

    Parameters
    ----------
    head : bytes
        The beginning of the content.

    Returns
    -------
    bool
        False for binary content.

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


_CONTROL = tuple(bytes([code]) for code in (*range(7), 14, 15, 16, 17, 18, 20, 21, 127))


def encoding_of(head: bytes) -> str:
    """Return the encoding of a text from its first bytes.

    Parameters
    ----------
    head : bytes
        The beginning of the content.

    Returns
    -------
    str
        A codec name; "utf-8" also where only decoding will tell.
    """
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
    """Decode the bytes of a text file.

    Parameters
    ----------
    data : bytes
        Content: UTF-8 with or without mark, UTF-16, else Windows-1252.

    Returns
    -------
    str
        The text, with line ends made plain and no mark.

    Raises
    ------
    WeatherError
        When the content is not text.

    Examples
    --------
    >>> decode("Temp °C".encode("utf-16")) == decode("Temp °C".encode("cp1252"))
    True
    """
    name = encoding_of(data[:65536])
    try:
        text = data.decode(name)
    except UnicodeDecodeError:
        if name.startswith("utf-16"):
            text = data[: len(data) // 2 * 2].decode(name, errors="replace")
        else:
            text = data.decode("cp1252", errors="replace")
    if "\x00" in text:
        raise WeatherError(
            "the file is not text, nor a weather format that is known; "
            "save it as CSV or NetCDF and try again"
        )
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
