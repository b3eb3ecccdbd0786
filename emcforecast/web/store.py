"""Answers kept on the disk, so that each question is worked out once."""

import gzip
import json
import re
import threading
import zlib
from collections import OrderedDict
from dataclasses import asdict, dataclass
from pathlib import Path

from emcforecast.errors import InputError
from emcforecast.files import contents, replace

IN_MEMORY = 48
MOST_BYTES = 300_000_000
"""Of all answers on the disk; the oldest go first."""
LARGEST_ANSWER = 40_000_000
_LOOK_EACH = 40


@dataclass(frozen=True)
class Kept:
    """One answer as pages and files show it.

    Parameters
    ----------
    title : str
        Of the page.
    html : str
        The answer, made by the sections of `emcforecast.pages`.
    json : str
        The one document that the command prints with ``--json``.
    csv : str
        Its table.
    calendar : str
        Of a yard: its steps as a calendar; else "".
    """

    title: str
    html: str
    json: str
    csv: str
    calendar: str = ""


class Store:
    """Answers by the key of their question, in a folder."""

    def __init__(self, folder: Path) -> None:
        """Take the folder; made when missing."""
        self._folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self._held: OrderedDict[str, Kept] = OrderedDict()
        self._lock = threading.Lock()
        self._puts = 0

    def get(self, key: str) -> Kept | None:
        """Return the answer of a question, or None."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
        found = self._read(self._path(key))
        if found is not None:
            self._hold(key, found)
        return found

    def put(self, key: str, kept: Kept) -> None:
        """Keep an answer; a disk that is full only means it is kept in memory."""
        self._hold(key, kept)
        data = gzip.compress(json.dumps(asdict(kept)).encode(), 5)
        try:
            replace(self._path(key), data)
        except InputError:
            return
        with self._lock:
            self._puts += 1
            look = self._puts % _LOOK_EACH == 1
        if look:
            self._prune()

    def _hold(self, key: str, kept: Kept) -> None:
        with self._lock:
            self._held[key] = kept
            self._held.move_to_end(key)
            while len(self._held) > IN_MEMORY:
                self._held.popitem(last=False)

    def _path(self, key: str) -> Path:
        if not re.fullmatch(r"[0-9a-f]{64}", key):
            raise ValueError(key)
        return self._folder / f"{key}.json.gz"

    def _read(self, path: Path) -> Kept | None:
        try:
            data = contents(path, InputError, LARGEST_ANSWER)
            return Kept(**json.loads(gzip.decompress(data)))
        except FileNotFoundError:
            return None
        except (OSError, EOFError, zlib.error, ValueError, TypeError):
            # Spoilt, or of another version: it is worked out again.
            path.unlink(missing_ok=True)
            return None

    def _prune(self) -> None:
        files = [(p.stat(), p) for p in self._folder.glob("*.json.gz")]
        files.sort(key=lambda found: found[0].st_mtime)
        total = sum(stat.st_size for stat, _ in files)
        for stat, path in files:
            if total <= MOST_BYTES:
                break
            path.unlink(missing_ok=True)
            total -= stat.st_size
