"""Cells of a column of numbers -> floats, whatever the writer put around them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

#: Words that stand for "no value".
from emcforecast._types import FloatArray

MISSING = frozenset(
    (
        *("", "-", "--", "---", "----", "-.-", "--.-", "na", "n/a", "nan", "null"),
        *("none", "m", "x", "?", "*", ".", "..", "...", "missing", "no data", "nodata"),
        *("#n/a", "#value!", "#div/0!", "lo", "hi", "low", "high", "err", "error"),
        *("ol", "fault", "fail", "inf", "-inf", "k.a.", "nd", "n.d.", "/", "///"),
    )
)
_NUMBER = re.compile(
    r"^([-+]?)(\d[\d\s'.,]*|[.,]\d+)(?:[eE]([-+]?\d+))?\s*([^\d\s].{0,12})?$"
)
_SUFFIX = {
    "c": "C",
    "°c": "C",
    "ºc": "C",
    "℃": "C",
    "degc": "C",
    "celsius": "C",
    "f": "F",
    "°f": "F",
    "ºf": "F",
    "℉": "F",
    "degf": "F",
    "fahrenheit": "F",
    "k": "K",
    "%": "percent",
    "%rh": "percent",
    "% rh": "percent",
    "%rf": "percent",
    "% rf": "percent",
    "%r.h.": "percent",
    "pct": "percent",
    "rh": "percent",
    "mm": "mm",
    "in": "in",
    "m/s": "m/s",
    "km/h": "km/h",
    "mph": "mph",
    "kn": "kn",
    "hpa": "hPa",
    "kpa": "kPa",
    "pa": "Pa",
    "mbar": "hPa",
    "w/m2": "W/m2",
    "w/m²": "W/m2",
    "g/m3": "g/m3",
    "g/m³": "g/m3",
    "g/kg": "g/kg",
    "°": "",
}


@dataclass(frozen=True)
class Numbers:
    """A column of numbers.

    Attributes
    ----------
    values : ndarray, shape (n,)
        NaN where the cell holds no number.
    units : tuple of str
        Units that stood in the cells.
    unreadable : tuple of str
        Different texts that are neither a number nor a known word for "missing".
    missing : int
        How many cells hold no number.
    """

    values: FloatArray
    units: tuple[str, ...]
    unreadable: tuple[str, ...]
    missing: int


def parse_number(cell: str) -> tuple[float, str]:
    """Read one cell.

    Parameters
    ----------
    cell : str
        Such as "12.5", "12,5 °C", "−3" or "--".

    Returns
    -------
    float
        NaN for no value.
    str
        Unit found, "" when none, "?" when the cell cannot be read.

    Examples
    --------
    >>> parse_number("12,5 °C"), parse_number("1.013,2")
    ((12.5, 'C'), (1013.2, ''))
    """
    text = cell.strip().strip("\u00a0\"'").replace("\u2212", "-").strip()
    text = text.replace("\u00a0", " ").replace("\u202f", " ")
    if text.lower() in MISSING:
        return float("nan"), ""
    match = _NUMBER.match(text)
    if not match:
        return float("nan"), "?"
    sign, digits, power, suffix = match.groups()
    unit = _SUFFIX.get((suffix or "").strip().lower(), "?" if suffix else "")
    digits = re.sub(r"[\s']", "", digits)
    mark = max(digits.rfind("."), digits.rfind(","))
    if mark >= 0:
        whole = re.sub(r"[.,]", "", digits[:mark])
        digits = f"{whole or 0}.{digits[mark + 1 :] or 0}"
    value = float(f"{sign}{digits}e{power or 0}")
    return (value, unit) if unit != "?" else (float("nan"), "?")


def parse_numbers(cells: Sequence[str]) -> Numbers:
    """Read a column.

    Parameters
    ----------
    cells : sequence of str, shape (n,)
        As they stand in the file.

    Examples
    --------
    >>> parse_numbers(["1,5", "Err", "-2,0"]).values.tolist()
    [1.5, nan, -2.0]
    """
    # Weather columns repeat few different texts: each is read once.
    known: dict[str, tuple[float, str]] = {}
    values = np.empty(len(cells), dtype=np.float64)
    for index, cell in enumerate(cells):
        found = known.get(cell)
        if found is None:
            found = known[cell] = parse_number(cell)
        values[index] = found[0]
    units = {unit for _, unit in known.values() if unit not in ("", "?")}
    unreadable = [cell for cell, (_, unit) in known.items() if unit == "?"]
    return Numbers(
        values=values,
        units=tuple(sorted(units)),
        unreadable=tuple(unreadable[:20]),
        missing=int(np.count_nonzero(np.isnan(values))),
    )
