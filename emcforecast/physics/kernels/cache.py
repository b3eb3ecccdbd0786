"""Where compiled kernels are kept, so that none outlives a change in its sources.

The compiler's own cache looks only at the file of a kernel, not at the files of the
functions merged into it. Here every module's kernels lie in a folder named after the
state of all the modules it imports.
"""

import hashlib
import re
import shutil
from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).parents[2]
_IMPORT = re.compile(r"^from emcforecast\.([\w.]+) import", re.MULTILINE)


@cache
def sources(file: Path) -> frozenset[Path]:
    """Return a module's file with those of all modules it imports, and so on.

    Parameters
    ----------
    file : Path
        A module of this package.

    Returns
    -------
    frozenset of Path
    """
    found: set[Path] = set()
    ahead = [file]
    while ahead:
        module = ahead.pop()
        if module in found or not module.is_file():
            continue
        found.add(module)
        names = _IMPORT.findall(module.read_text(encoding="utf-8"))
        ahead += [
            _PACKAGE.joinpath(*name.split(".")).with_suffix(".py") for name in names
        ]
    return frozenset(found)


@cache
def folder(file: Path) -> Path | None:
    """Return the folder for a module's compiled kernels, made if need be.

    Parameters
    ----------
    file : Path
        The module that defines them.

    Returns
    -------
    Path or None
        None where the package's own folder cannot be written: the compiler then
        keeps them in the user's cache.
    """
    stamp = hashlib.sha1(usedforsecurity=False)
    for source in sorted(sources(file)):
        state = source.stat()
        stamp.update(f"{source.name} {state.st_mtime_ns} {state.st_size}\n".encode())
    beside = file.parent / "__pycache__"
    wanted = beside / f"kernels-{file.stem}-{stamp.hexdigest()[:12]}"
    if not wanted.is_dir():
        for old in beside.glob(f"kernels-{file.stem}-*"):
            shutil.rmtree(old, ignore_errors=True)
        try:
            wanted.mkdir(parents=True, exist_ok=True)
        except OSError:
            return None
    return wanted
