"""What a check against something outside the project says of itself."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

Record = Callable[[str, Any], None]
"""What the fixture `record_reached` gives: the name of an error, and its size."""
RECORD = Path(__file__).parents[2] / "docs" / "checks.json"
#: Half a unit of the second digit printed, of a number that begins with 1.
ROUNDING = 0.06
LEAST = 1e-6
"""Smaller errors are the computer's own and printed as this."""


@dataclass(frozen=True)
class PublishedCheck:
    """One outside check: of what, against which source, how close and why so."""

    what: str
    source: str
    provenance: Literal["retrieved", "memory"]
    """Whether the source was read for this project, or recalled."""
    kind: Literal["implemented", "fitted", "foretold"]
    """Whether the program uses the source's own formula or numbers, has numbers fitted
    to it, or foretells it from others."""
    tolerance: str
    why: str


def load_record() -> dict[str, Any]:
    """Read what was reached, by the name of the test module."""
    if not RECORD.exists():
        return {}
    record: dict[str, Any] = json.loads(RECORD.read_text(encoding="utf-8"))
    return record


def as_printed(value: float) -> float:
    """Round to the two digits that are printed."""
    return float(f"{max(value, LEAST):.2g}")
