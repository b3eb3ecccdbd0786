"""Locks, so that several writers of a yard's files do not lose each other's work."""

import os
import stat
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from emcforecast.errors import YardError
from emcforecast.files import unopened
from emcforecast.language import _

LOCK_WAIT_S = 30.0
_RETRY_S = 0.01

if sys.platform == "win32":
    import msvcrt

    # A byte far past any yard or log: the lock then blocks no reader.
    _LOCK_BYTE = 0x7FFF0000

    def _try_lock(descriptor: int, shared: bool) -> bool:
        os.lseek(descriptor, _LOCK_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _try_lock(descriptor: int, shared: bool) -> bool:
        kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        try:
            fcntl.flock(descriptor, kind | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


def lock(
    descriptor: int, path: Path, *, shared: bool = False, wait_s: float = LOCK_WAIT_S
) -> None:
    """Wait for the file's lock; closing the descriptor, or dying, gives it back.

    Parameters
    ----------
    descriptor : int
        An open file.
    path : Path
        Its name, for the message.
    shared : bool
        Readers share; a writer is alone.
    wait_s : float
        How long to wait, s.

    Raises
    ------
    YardError
        When another program holds the lock all that time, or the file's disk
        offers no locks.
    """
    deadline = time.monotonic() + wait_s
    while True:
        try:
            if _try_lock(descriptor, shared):
                return
        except OSError as error:
            raise YardError(
                _(
                    "{path}: this disk offers no file locks ({reason}). Keep the "
                    "yard on a local disk.",
                    path=path,
                    reason=error.strerror,
                )
            ) from error
        if time.monotonic() > deadline:
            raise YardError(
                _(
                    "{path}: another program has been writing it for "
                    "{wait_s:.0f} s. Close that program and try again.",
                    path=path,
                    wait_s=wait_s,
                )
            )
        time.sleep(_RETRY_S)


@contextmanager
def open_locked(path: Path, *, create: bool = True) -> Iterator[int]:
    """Open a file for reading and appending, alone, until the block ends.

    Parameters
    ----------
    path : Path
        The file.
    create : bool
        Make it when it is missing.

    Yields
    ------
    int
        The descriptor; every write lands at the end of the file.

    Raises
    ------
    YardError
        When it cannot be opened or locked.
    """
    flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0)
    flags |= os.O_CREAT if create else 0
    while True:
        try:
            descriptor = os.open(path, flags, 0o666)
        except OSError as error:
            raise YardError(unopened(path, error)) from error
        try:
            if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                raise YardError(
                    _(
                        "{path}: is a pipe or a device, not a file. Name a file.",
                        path=path,
                    )
                )
            lock(descriptor, path)
            # A spreadsheet may have put a new file in place while we waited.
            if _is_still(descriptor, path):
                yield descriptor
                return
        finally:
            os.close(descriptor)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold the right to rewrite a file, through a small lock file beside it.

    Parameters
    ----------
    path : Path
        The file about to be read, changed and replaced.

    Raises
    ------
    YardError
        When another program keeps it.
    """
    target = Path(os.path.realpath(path))
    with open_locked(target.with_name(f".{target.name}.lock")):
        yield


def _is_still(descriptor: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(descriptor), path.stat())
    except FileNotFoundError:
        return False
