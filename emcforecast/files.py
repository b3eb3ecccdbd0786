"""Files replaced whole: after a kill or on a full disk the old one is still there."""

import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

from emcforecast.errors import InputError


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
        if target.exists() and not target.is_file() and not target.is_dir():
            target.write_bytes(content)
            return
        descriptor, name = tempfile.mkstemp(
            prefix=f".{target.name}.", suffix=".part", dir=target.parent
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
        return f"{path}: there is no such file or folder. Check the name."
    if isinstance(error, PermissionError):
        return f"{path}: this account may not use it. Check the file's permissions."
    if isinstance(error, IsADirectoryError):
        return f"{path}: is a folder, not a file. Name the file in it."
    return f"{path}: {error.strerror or error}. Check the disk and try again."


def _mode_of(target: Path) -> int:
    try:
        return target.stat().st_mode & 0o7777
    except FileNotFoundError:
        umask = os.umask(0)
        os.umask(umask)
        return 0o666 & ~umask
