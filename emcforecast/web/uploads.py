"""Files that visitors bring: checked before they are kept, few, and small enough."""

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from emcforecast.errors import InputError
from emcforecast.files import replace
from emcforecast.language import _
from emcforecast.web.serving import LARGEST_UPLOAD
from emcforecast.web.sources import hints_of

if TYPE_CHECKING:
    from emcforecast.weather.check import Inspection

MOST_FILES = 40
MOST_BYTES = 400_000_000


def keep_upload(folder: Path, name: str, content: bytes) -> str:
    """Keep an uploaded file and return its code.

    Parameters
    ----------
    folder : Path
        Of the uploads; made when missing.
    name : str
        As the visitor's computer calls it; only letters, digits and dots are kept.
    content : bytes
        All of it.

    Returns
    -------
    str
        24 hexadecimal digits of its content, so that the same file is kept once.

    Raises
    ------
    InputError
        When it is empty or too large, or cannot be written.
    """
    if not content:
        raise InputError(_("the file is empty, or no file was chosen; choose one"))
    if len(content) > LARGEST_UPLOAD:
        raise InputError(
            _(
                "the file is larger than {most_mb:.0f} MB; give a part of it",
                most_mb=LARGEST_UPLOAD / 1e6,
            )
        )
    folder.mkdir(parents=True, exist_ok=True)
    code = hashlib.sha256(content).hexdigest()[:24]
    tidy = re.sub(r"[^A-Za-z0-9._]+", "_", name).strip("._")[-60:] or "weather"
    for old in folder.glob(f"{code}-*"):
        old.unlink(missing_ok=True)
    replace(folder / f"{code}-{tidy}", content)
    _prune(folder)
    return code


def inspect_upload(path: Path, asked: Mapping[str, str]) -> "Inspection":
    """Look a kept file through: what it holds, or the one line of its refusal.

    Raises
    ------
    InputError
        When a hint is not understood.
    """
    from emcforecast.weather.check import inspect

    return inspect(path, **hints_of(asked))


def _prune(folder: Path) -> None:
    files = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime)
    total = sum(path.stat().st_size for path in files)
    while files and (len(files) > MOST_FILES or total > MOST_BYTES):
        oldest = files.pop(0)
        total -= oldest.stat().st_size
        oldest.unlink(missing_ok=True)
