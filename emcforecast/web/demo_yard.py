"""A yard to try things on: the demonstration weather and invented stacks."""

from datetime import date
from pathlib import Path

from emcforecast.units import UnitSystem
from emcforecast.yard.file import add_stack, begin_yard, stack_values

STACKS: tuple[dict[str, object], ...] = (
    {
        "name": "larch-1",
        "species": "European larch",
        "thickness": "27 mm",
        "sawn": date(2026, 3, 28),
        "setting": "shed",
        "use": "boat",
        "need": date(2027, 4, 15),
        "count": 60,
        "length": "4 m",
        "width": "180 mm",
    },
    {
        "name": "oak-1",
        "species": "European oak",
        "thickness": "54 mm",
        "sawn": date(2025, 3, 15),
        "setting": "stack-roof",
        "use": "furniture",
        "need": date(2028, 5, 1),
    },
)
"""Invented stacks of the invented place."""


def demo_yard(folder: Path, units: UnitSystem) -> Path:
    """Return the yard to try things on; made when missing, kept when there.

    Parameters
    ----------
    folder : Path
        Where it is kept.
    units : {"us", "si"}
        Of the yard.
    """
    path = folder / "yard.toml"
    if not path.is_file():
        folder.mkdir(parents=True, exist_ok=True)
        begin_yard(path, "Kalvenau", "demo", units)
        for stack in STACKS:
            add_stack(path, stack_values(stack))
    return path
