"""Files read within bounds, and replaced whole or, after a kill or a full disk, not."""

import errno
import json
import os
import stat
import sys
import tempfile
import tomllib
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO

from emcforecast.errors import InputError
from emcforecast.language import _

LARGEST = 600_000_000
"""Most bytes of one file that is read whole."""
LONGEST_WHOLE = 25
"""Digits of a whole number; longer ones are no number that a float holds."""


def is_file(path: str | Path) -> bool:
    """Tell whether it is a file, also of a text that no file can be named by."""
    return os.path.isfile(path)  # noqa: PTH113


def exists(path: str | Path) -> bool:
    """Tell whether there is anything of that name, however long the name."""
    return os.path.exists(path)  # noqa: PTH110


def is_folder(path: str | Path) -> bool:
    """Tell whether it is a folder, also of a text that no folder can be named by."""
    return os.path.isdir(path)  # noqa: PTH112


def open_plain(path: Path, error_class: type[InputError] = InputError) -> BinaryIO:
    """Open a file for reading, never a pipe or a device: those may have no end.

    Parameters
    ----------
    path : Path
        The file; a link is followed.
    error_class : type
        What to raise.

    Returns
    -------
    file
        Open, in bytes.

    Raises
    ------
    InputError
        For a pipe, a device, a socket, or a name no file can have.
    OSError
        When it cannot be opened; `unopened` says it in words.
    """
    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        descriptor = os.open(path, flags)
    except ValueError as error:
        raise error_class(
            _("{path}: no file can have that name. Check it.", path=path)
        ) from error
    mode = os.fstat(descriptor).st_mode
    if stat.S_ISREG(mode):
        return os.fdopen(descriptor, "rb")
    os.close(descriptor)
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    raise error_class(
        _(
            "{path}: is a pipe or a device, not a file. Save what it "
            "gives to a file first",
            path=path,
        )
    )


def contents(
    path: Path, error_class: type[InputError] = InputError, largest: int = LARGEST
) -> bytes:
    """Return all that a file holds.

    Parameters
    ----------
    path : Path
        The file.
    error_class : type
        What to raise.
    largest : int
        Most bytes it may hold.

    Raises
    ------
    InputError
        For a file that is larger, a pipe or a device.
    OSError
        When it cannot be read.
    """
    with open_plain(path, error_class) as file:
        held = file.read(largest + 1)
    if len(held) > largest:
        raise error_class(
            _(
                "{path}: is larger than {most_mb:,.0f} MB. Give a part of it.",
                path=path,
                most_mb=largest / 1e6,
            )
        )
    return held


def parse_json(content: bytes) -> Any:
    r"""Read JSON, with or without a byte order mark.

    Parameters
    ----------
    content : bytes
        In UTF-8, or UTF-16 or -32 with a mark.

    Raises
    ------
    ValueError
        For what is no JSON, nests too deep, or has numbers too long to be meant.

    Examples
    --------
    >>> parse_json(b'\xef\xbb\xbf{"a": 1}')
    {'a': 1}
    """
    try:
        return json.loads(content, parse_int=_whole_number)
    except RecursionError as error:
        raise ValueError(_("it nests too deep")) from error


def parse_toml(text: str) -> dict[str, Any]:
    """Read TOML.

    Raises
    ------
    ValueError
        For what is no TOML, nests too deep, or has numbers too long to be meant.

    Examples
    --------
    >>> parse_toml("a = 1")
    {'a': 1}
    """
    try:
        document = tomllib.loads(text)
    except RecursionError as error:
        raise ValueError(_("it nests too deep")) from error
    held: list[Any] = [document]
    while held:
        value = held.pop()
        if isinstance(value, dict):
            held += value.values()
        elif isinstance(value, list):
            held += value
        elif isinstance(value, int) and abs(value) >= 10**LONGEST_WHOLE:
            raise ValueError(_("a whole number in it is too long"))
    return document


def _whole_number(digits: str) -> int:
    if len(digits) > LONGEST_WHOLE:
        raise ValueError(_("a whole number in it is too long"))
    return int(digits)


def replace(
    path: Path, content: bytes, error_class: type[InputError] = InputError
) -> None:
    """Put new content in place of a file: all of it or, after a kill, none.

    Parameters
    ----------
    path : Path
        The file; a link is followed, so that the link stays.
    content : bytes
        Everything the file shall hold.
    error_class : type
        What to raise.

    Raises
    ------
    InputError
        When it cannot be written; the old file is then untouched.

    Notes
    -----
    Written beside the file, flushed to the disk, then renamed over it. A device or a
    pipe is written to as it is.
    """
    target = Path(os.path.realpath(path))
    try:
        if exists(target) and not is_file(target) and not is_folder(target):
            target.write_bytes(content)
            return
        descriptor, name = tempfile.mkstemp(
            prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent
        )
    except OSError as error:
        raise error_class(unopened(path, error)) from error
    part = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(_mode_of(target))
        part.replace(target)
    except OSError as error:
        raise error_class(unopened(path, error)) from error
    finally:
        with suppress(FileNotFoundError):
            part.unlink()
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Make a new name in a folder survive a power cut, where the system can."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def unopened(path: Path, error: OSError) -> str:
    """Return one line saying why a file cannot be used and what to do."""
    if isinstance(error, FileNotFoundError):
        return _("{path}: there is no such file or folder. Check the name.", path=path)
    if isinstance(error, PermissionError):
        return _(
            "{path}: this account may not use it. Check the file's permissions.",
            path=path,
        )
    if isinstance(error, IsADirectoryError):
        return _("{path}: is a folder, not a file. Name the file in it.", path=path)
    if error.errno == errno.ENAMETOOLONG:
        return _(
            "{path}…: the name is too long for a file. Check it.", path=str(path)[:40]
        )
    return _(
        "{path}: {reason}. Check the disk and try again.",
        path=path,
        reason=error.strerror or error,
    )


def _mode_of(target: Path) -> int:
    try:
        return target.stat().st_mode & 0o7777
    except FileNotFoundError:
        umask = os.umask(0)
        os.umask(umask)
        return 0o666 & ~umask
