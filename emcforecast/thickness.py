"""A board's thickness as people write it: actual and nominal kept apart."""

import re
from dataclasses import dataclass

from emcforecast.conversions import MM_PER_INCH, MM_PER_UNIT, measure, tidy
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.units import UnitSystem, format_length

ROUGH_MM_PER_QUARTER = 6.75
"""Sawn green, a quarter of an inch of nominal stock measures this much (mm)."""

THINNEST_MM, THICKEST_MM = 1.0, 600.0
_THINNEST_WITHOUT_UNIT_MM = 6.0

_QUARTER_WORDS = {"four": 4, "five": 5, "six": 6, "eight": 8, "ten": 10, "twelve": 12}


@dataclass(frozen=True)
class Thickness:
    """How thick a board is as sawn, and what the trade calls it.

    Parameters
    ----------
    actual_mm : float
        The measured or expected rough thickness, mm.
    nominal : str or None
        The trade's name in quarters of an inch, such as "8/4"; None for a
        measured thickness.
    text : str
        What the person wrote.

    Notes
    -----
    Quarters name the stock, not its size. Stock is sawn over so that it still
    holds its nominal thickness when dry: 1/16 in over per inch, 27 mm for 4/4 and
    54 mm for 8/4, which is also the European trade's nearest rough size (27 mm is
    a preferred thickness of EN 1313-2; from memory). A mill that saws 4/4 at
    1 1/8 in says so: ``"4/4 = 1 1/8 in"``.
    """

    actual_mm: float
    nominal: str | None
    text: str

    @property
    def nominal_mm(self) -> float | None:
        """The nominal thickness in mm (25.4 for 4/4), or None when measured."""
        if self.nominal is None:
            return None
        return int(self.nominal.split("/")[0]) * MM_PER_INCH / 4.0

    def label(self, system: UnitSystem = "si") -> str:
        """Return how to print this thickness, actual size first.

        Examples
        --------
        >>> parse_thickness("8/4").label("si")
        '54 mm (8/4)'
        >>> parse_thickness("27mm").label("us")
        '1 1/16 in'
        """
        size = format_length(self.actual_mm, system)
        return size if self.nominal is None else f"{size} ({self.nominal})"


def parse_thickness(thickness: "float | str | Thickness") -> Thickness:
    """Read a board's thickness as people write it.

    Parameters
    ----------
    thickness : float or str or Thickness
        A number is mm. Text is quarters ("4/4", "8/4", "eight quarter"), mm
        ("27", "27mm", "2.7 cm"), or inches ("1 1/8 in", '1-1/8"'). Quarters may
        carry the size really sawn: "4/4 = 28 mm".

    Returns
    -------
    Thickness
        Actual thickness in mm, with the nominal name kept apart.

    Raises
    ------
    InputError
        When the text is not a thickness, has an ambiguous unit, or lies outside
        1 to 600 mm.

    Examples
    --------
    >>> parse_thickness("4/4")
    Thickness(actual_mm=27.0, nominal='4/4', text='4/4')
    >>> parse_thickness("1 1/8 in").actual_mm
    28.575
    >>> parse_thickness(27).nominal is None
    True
    """
    if isinstance(thickness, Thickness):
        return thickness
    if isinstance(thickness, str):
        return _thickness_from_text(thickness)
    return Thickness(
        _plausible_thickness(float(thickness), f"{thickness:g} mm"),
        None,
        f"{thickness:g} mm",
    )


def _thickness_from_text(given: str) -> Thickness:
    text = tidy(given)
    name, equals, size = text.partition("=")
    quarters = _quarters(name.strip())
    if equals and quarters is not None:
        actual = _thickness_mm(size.strip(), given)
    elif quarters is not None:
        actual = quarters * ROUGH_MM_PER_QUARTER
    else:
        actual = _thickness_mm(text, given)
    return Thickness(
        _plausible_thickness(actual, given),
        None if quarters is None else f"{quarters}/4",
        given.strip(),
    )


def _quarters(text: str) -> int | None:
    match = re.fullmatch(r"([0-9]{1,4}) ?/ ?4(?: in)?", text)
    if match and (int(match[1]) >= 4 or not text.endswith("in")):
        return int(match[1]) or None
    match = re.fullmatch(r"([0-9]{1,4})[ -]quarters?", text)
    if match:
        return int(match[1]) or None
    match = re.fullmatch(r"(\w+)[ -]quarters?", text)
    return _QUARTER_WORDS.get(match[1]) if match else None


def _thickness_mm(text: str, given: str) -> float:
    written = measure(text)
    if written is None or written[1] not in {"", *MM_PER_UNIT}:
        raise InputError(
            _(
                "thickness {given!r} cannot be read. Write quarters (4/4, "
                "8/4), mm (27mm) or inches (1 1/8 in).",
                given=given,
            )
        )
    number, unit = written
    if number <= 0:
        raise InputError(
            _(
                "thickness {given!r} is not above zero. Write quarters (4/4, "
                "8/4), mm (27mm) or inches (1 1/8 in).",
                given=given,
            )
        )
    if unit == "" and ("/" in text or number < _THINNEST_WITHOUT_UNIT_MM):
        raise InputError(
            _(
                "thickness {given!r} has no unit: inches or mm? Write "
                "'{text} in' or '{text} mm', or quarters such as 4/4.",
                given=given,
                text=text,
            )
        )
    return float(number * MM_PER_UNIT[unit or "mm"])


def _plausible_thickness(actual_mm: float, given: str) -> float:
    if not THINNEST_MM <= actual_mm <= THICKEST_MM:
        raise InputError(
            _(
                "thickness {given!r} is outside {least_mm:g} to {most_mm:g} "
                "mm (0.04 to 23.6 in). Check the unit: 27mm, 4/4 and 1 1/8 "
                "in are all read.",
                given=given,
                least_mm=THINNEST_MM,
                most_mm=THICKEST_MM,
            )
        )
    return actual_mm
