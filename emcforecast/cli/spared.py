"""Files that are read are not written over."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from emcforecast.errors import InputError
from emcforecast.files import is_file
from emcforecast.language import _

WRITTEN = ("csv_file", "plot_file", "output")
"""Parameters that name a file to write."""


def spare(written: Iterable[Path | None], read: Iterable[Path | None]) -> None:
    """Refuse to write over a file that is read.

    Parameters
    ----------
    written, read : iterable of Path or None
        Files to be written, and files the answer is based on.

    Raises
    ------
    InputError
        When one is both, by whatever name.
    """
    kept = [path for path in read if path is not None and is_file(path)]
    for path in written:
        if path is None or not is_file(path):
            continue
        if any(path.samefile(other) for other in kept):
            raise InputError(
                _(
                    "{path}: the answer is made from this file and would be "
                    "written over it; name another file",
                    path=path,
                )
            )


def spare_inputs(parameters: Mapping[str, Any]) -> None:
    """Refuse a command line whose output is one of the files it names as input."""
    given = [
        Path(part)
        for name, value in parameters.items()
        if name not in WRITTEN
        for part in (value if isinstance(value, tuple) else (value,))
        if isinstance(part, (str, Path)) and 0 < len(str(part)) < 1000
    ]
    written = (parameters.get(name) for name in WRITTEN)
    spare((path for path in written if isinstance(path, Path)), _files(given))


def _files(given: Iterable[Path]) -> Iterable[Path]:
    """Yield what is named as files: `a+b` and `name=file` name their parts too."""
    for path in given:
        whole = str(path)
        for text in (whole, *whole.split("+"), whole.partition("=")[2]):
            if text and "\0" not in text:
                yield Path(text)
