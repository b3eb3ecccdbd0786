"""Which blocks of a map are written: a line each, kept beside the store."""

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from emcforecast.errors import InputError
from emcforecast.files import replace
from emcforecast.language import _

ENDING = ".blocks"
"""Added to the name of the store; gone when the map is whole."""


@dataclass
class Ledger:
    """Blocks of a store that are written, added to a line at a time.

    Parameters
    ----------
    path : Path
        The file.
    done : set of int
        Numbers of the blocks.
    """

    path: Path
    done: set[int] = field(default_factory=set)

    def add(self, block: int) -> None:
        """Note that a block is on the disk."""
        with self.path.open("a", encoding="ascii") as file:
            file.write(f"{block}\n")
            file.flush()
            os.fsync(file.fileno())
        self.done.add(block)

    def close(self) -> None:
        """Remove the file: the map is whole."""
        self.path.unlink(missing_ok=True)


def fingerprint(question: Mapping[str, Any]) -> str:
    """Return a short text that differs where anything asked does."""
    whole = json.dumps(question, sort_keys=True, default=str)
    return hashlib.sha256(whole.encode()).hexdigest()[:32]


def ledger_of(store: Path) -> Path:
    """Return where the ledger of a store is kept: beside it."""
    return store.with_name(f"{store.name}{ENDING}")


def begin_ledger(store: Path, question: Mapping[str, Any]) -> Ledger:
    """Begin the ledger of a new store."""
    path = ledger_of(store)
    replace(path, f"{fingerprint(question)}\n".encode())
    return Ledger(path)


def resume_ledger(store: Path, question: Mapping[str, Any]) -> Ledger:
    """Read the ledger of an interrupted run.

    Raises
    ------
    InputError
        When there is none, or it is of another question.
    """
    path = ledger_of(store)
    try:
        lines = path.read_text(encoding="ascii").splitlines()
    except OSError:
        raise InputError(
            _(
                "{store}: holds no interrupted map to go on with; leave out --resume",
                store=store,
            )
        ) from None
    if not lines or lines[0] != fingerprint(question):
        raise InputError(
            _(
                "{store}: was begun with another question or other grids; "
                "repeat that command line, or name another file",
                store=store,
            )
        )
    # A line that a kill cut short does not count.
    return Ledger(path, {int(line) for line in lines[1:] if line.isdigit()})
