"""Packaged tables: one CSV each, with its sources, read by the standard library.

The tests of every table state its source and the tolerance of its printed digits.
"""

import csv
from functools import cache
from pathlib import Path

from emcforecast.errors import InputError
from emcforecast.language import _, did_you_mean

_FOLDER = Path(__file__).parent


def path(name: str) -> Path:
    """Return where a packaged file lies.

    Parameters
    ----------
    name : str
        File name with its suffix, such as ``"emc_table_4_2.csv"``.

    Returns
    -------
    pathlib.Path
        The file, which exists.

    Raises
    ------
    InputError
        When there is no such file; the message names the nearest.

    Examples
    --------
    >>> path("emc_table_4_2.csv").name
    'emc_table_4_2.csv'
    """
    file = _FOLDER / name
    if not file.is_file():
        known = sorted(
            p.name for p in _FOLDER.glob("*") if p.suffix in {".csv", ".npz"}
        )
        hint = did_you_mean(name, known)
        raise InputError(
            _(
                "there is no packaged table '{name}'.{hint} Known: {known}.",
                name=name,
                hint=hint,
                known=", ".join(known),
            )
        )
    return file


@cache
def _read(name: str) -> tuple[dict[str, str], ...]:
    with path(name).open(encoding="utf-8", newline="") as handle:
        return tuple(csv.DictReader(handle))


def rows(name: str) -> list[dict[str, str]]:
    """Read a packaged CSV as one dict a row, every cell a string.

    Parameters
    ----------
    name : str
        The table's name, with or without ``.csv``.

    Returns
    -------
    list of dict
        Fresh dicts, so a caller may change them; an empty cell is ``""``.

    Raises
    ------
    InputError
        When there is no such table.

    Examples
    --------
    >>> first = rows("emc_table_4_2")[0]
    >>> first["temp_f"], first["rh_pct"], first["emc_pct_printed"]
    ('30', '5', '1.4')
    """
    file = name if name.endswith(".csv") else f"{name}.csv"
    return [dict(row) for row in _read(file)]
