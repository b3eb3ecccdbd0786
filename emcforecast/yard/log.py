"""The readings log: a CSV file that only grows, a row at a time, whole or not at all.

A row is one write under a lock, flushed to the disk. Its values come first and its
note, always quoted, last; so a row that a kill cut short shows where it was cut. The
next writer closes such a row with a mark instead of removing or joining it.
"""

import csv
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from emcforecast.errors import YardError
from emcforecast.files import open_plain, sync_folder, unopened
from emcforecast.language import _, did_you_mean
from emcforecast.yard.locking import lock, open_locked
from emcforecast.yard.log_rows import (
    BOM,
    HEADER,
    HEADER_LINE,
    NEEDED,
    Damaged,
    Mark,
    Row,
    mend_tail,
    mended_words,
    record,
    row_line,
)

_TAIL_BYTES = 65536
LARGEST_LOG = 50_000_000


@dataclass(frozen=True)
class Log:
    """What a readings log holds.

    Parameters
    ----------
    rows : tuple of Row
        In the order of the file.
    damaged : tuple of Damaged
        Rows kept in the file and not used.
    unread_columns : tuple of str
        Columns of the file that mean nothing to this program.
    """

    rows: tuple[Row, ...] = ()
    damaged: tuple[Damaged, ...] = ()
    unread_columns: tuple[str, ...] = ()


def read_log(path: Path) -> Log:
    """Read a readings log; a missing file is an empty log.

    Parameters
    ----------
    path : Path
        The CSV file. A byte order mark, semicolons or tabs, CRLF line ends and
        columns in another order are read.

    Returns
    -------
    Log
        Its rows, and the rows that cannot be read with the reason.

    Raises
    ------
    YardError
        When the file as a whole cannot be read.
    """
    data = _read_shared(path)
    _refuse_wide(path, data)
    data = _with_line_ends(data)
    if not data.removeprefix(BOM).strip() or HEADER_LINE.startswith(data):
        return Log()
    first = _header_at(data)
    headings, delimiter = _headings(path, data)
    data += mend_tail(data, delimiter, len(headings))
    damaged: list[Damaged] = []
    rows: list[Row] = []
    lines = data.removeprefix(BOM).split(b"\n")
    number = first + 1
    while number < len(lines):
        used, found = record(lines, number, headings, delimiter)
        number += used
        if isinstance(found, Row):
            rows.append(found)
        elif isinstance(found, Damaged):
            damaged.append(found)
    unread = tuple(name for name in headings if name and name not in HEADER)
    undone = {row.mark.entry for row in rows if row.mark and row.mark.takes_back}
    counted = (row for row in rows if row.mark is None or row.mark.entry not in undone)
    return Log(tuple(counted), tuple(damaged), unread)


def append(path: Path, fields: Mapping[str, str]) -> list[str]:
    """Add one row to a readings log: all of it or nothing.

    Parameters
    ----------
    path : Path
        The log; made with its header when missing.
    fields : Mapping of str to str
        The text under each heading of `HEADER`; missing ones are left empty.

    Returns
    -------
    list of str
        What had to be mended first, in words.

    Raises
    ------
    YardError
        When a field cannot stand in a CSV row, or the file cannot be written.
    """
    unknown = sorted(set(fields) - set(HEADER))
    if unknown:
        raise YardError(
            _(
                "the log has no column '{unknown}'. Its columns: {header}.",
                unknown=unknown[0],
                header=", ".join(HEADER),
            )
        )
    with open_locked(path) as descriptor:
        return _add(descriptor, path, fields)


def append_once(path: Path, fields: Mapping[str, str], entry: str) -> bool:
    """Add a row that may be sent more than once; only the first is written.

    Parameters
    ----------
    path : Path
        The log; made with its header when missing.
    fields : mapping of str to str
        As `append` takes them.
    entry : str
        Names this reading: 8 to 32 hexadecimal digits.

    Returns
    -------
    bool
        Whether it was written now; False where the log holds that entry already.

    Raises
    ------
    YardError
        As `append` does.
    """
    mark = Mark(entry)
    with open_locked(path) as descriptor:
        if mark.text.encode() in _read_at(descriptor, 0, LARGEST_LOG):
            return False
        _add(descriptor, path, fields, mark)
    return True


def take_back(path: Path, entry: str) -> bool:
    """Note in the log that an entry does not count; nothing is removed.

    Parameters
    ----------
    path : Path
        The log.
    entry : str
        As it was given to `append_once`.

    Returns
    -------
    bool
        Whether it counted until now.

    Raises
    ------
    YardError
        When the log holds no such entry, or cannot be written.
    """
    undo = Mark(entry, takes_back=True)
    own = next(
        (row for row in read_log(path).rows if row.mark == Mark(entry)),
        None,
    )
    with open_locked(path) as descriptor:
        held = _read_at(descriptor, 0, LARGEST_LOG)
        if undo.text.encode() in held:
            return False
        if own is None:
            raise YardError(
                _(
                    "{path}: holds no entry {entry}; there is nothing to take back.",
                    path=path,
                    entry=entry,
                )
            )
        _add(descriptor, path, own.fields, undo)
    return True


def _add(
    descriptor: int, path: Path, fields: Mapping[str, str], mark: Mark | None = None
) -> list[str]:
    """Write a row at the end of a log that is held alone."""
    size = os.fstat(descriptor).st_size
    head = _read_at(descriptor, 0, min(size, 4096))
    delimiter, mend, said = ",", HEADER_LINE, []
    _refuse_wide(path, head)
    if head and HEADER_LINE.startswith(head):
        mend = HEADER_LINE[len(head) :]
    elif head.removeprefix(BOM).strip():
        delimiter = _own_columns(path, head)
        start = max(0, size - _TAIL_BYTES)
        tail = _read_at(descriptor, start, size - start)
        mend = mend_tail(tail, delimiter, len(HEADER))
        said = [f"{path}: {mended_words(mend)}"] if mend else []
    line = row_line(fields, delimiter, mark)
    _write_whole(descriptor, mend + line, size, path)
    if size == 0:
        sync_folder(path.resolve().parent)
    return said


def _with_line_ends(data: bytes) -> bytes:
    """Return text with one kind of line end; old spreadsheets write a bare CR."""
    return data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def _header_at(data: bytes) -> int:
    lines = data.removeprefix(BOM).split(b"\n")
    return next(number for number, line in enumerate(lines) if line.strip())


def _headings(path: Path, data: bytes) -> tuple[list[str], str]:
    """Return (column names, delimiter) of the header line."""
    lines = _with_line_ends(data).removeprefix(BOM).split(b"\n")
    first = lines[_header_at(_with_line_ends(data))].decode("utf-8", "replace")
    delimiter = max(",;\t", key=first.count)
    try:
        cells = next(csv.reader([first.strip()], delimiter=delimiter), [])
    except csv.Error:
        cells = []
    headings = [cell.strip().lower().replace(" ", "_") for cell in cells]
    missing = [name for name in NEEDED if name not in headings]
    if missing:
        strangers = [name for name in headings if name and name not in HEADER]
        near = next((n for s in strangers if (n := did_you_mean(s, HEADER))), "")
        raise YardError(
            _(
                "{path}: its first line has no column '{missing}'.{near} The "
                "first line of a readings log is: {header}",
                path=path,
                missing=missing[0],
                near=near,
                header=",".join(HEADER),
            )
        )
    twice = [name for name in HEADER if headings.count(name) > 1]
    if twice:
        raise YardError(
            _(
                "{path}: the column '{twice}' stands twice in its first "
                "line. Keep one.",
                path=path,
                twice=twice[0],
            )
        )
    return headings, delimiter


def _own_columns(path: Path, head: bytes) -> str:
    """Return the delimiter of a log this program can add to, or refuse it."""
    headings, delimiter = _headings(path, head)
    if tuple(headings) != HEADER:
        raise YardError(
            _(
                "{path}: a row can only be added where the first line is "
                "{header}. Put the columns in that order, or start a new log.",
                path=path,
                header=",".join(HEADER),
            )
        )
    return delimiter


def _refuse_wide(path: Path, data: bytes) -> None:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise YardError(
            _(
                "{path}: is saved as UTF-16. Save it again as 'CSV UTF-8'; "
                "nothing in it was changed.",
                path=path,
            )
        )
    if data.startswith(b"PK\x03\x04"):
        raise YardError(
            _(
                "{path}: is a spreadsheet's own file, not CSV. Save it as 'CSV UTF-8'.",
                path=path,
            )
        )


def _read_shared(path: Path) -> bytes:
    try:
        with open_plain(path, YardError) as file:
            lock(file.fileno(), path, shared=True)
            held = file.read(LARGEST_LOG + 1)
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise YardError(unopened(path, error)) from error
    if len(held) > LARGEST_LOG:
        raise YardError(
            _(
                "{path}: is larger than {most_mb:.0f} MB. Put the rows of "
                "earlier years in another file.",
                path=path,
                most_mb=LARGEST_LOG / 1e6,
            )
        )
    return held


def _read_at(descriptor: int, start: int, count: int) -> bytes:
    os.lseek(descriptor, start, os.SEEK_SET)
    parts = []
    while count > 0:
        part = os.read(descriptor, count)
        if not part:
            break
        parts.append(part)
        count -= len(part)
    return b"".join(parts)


def _write_whole(descriptor: int, content: bytes, size: int, path: Path) -> None:
    """Write in one call; on a full disk take back the part that went in."""
    try:
        written = os.write(descriptor, content)
        while written < len(content):
            written += os.write(descriptor, content[written:])
        os.fsync(descriptor)
    except OSError as error:
        os.ftruncate(descriptor, size)
        raise YardError(
            _(
                "{path}: the row was not written ({reason}); the log is as "
                "it was. Free some space and try again.",
                path=path,
                reason=error.strerror,
            )
        ) from error
