"""Numbers with units as people write them: "1 1/8 in", '1-1/8"', "27,5 mm"."""

import re
from fractions import Fraction

from emcforecast.conversions import KG_PER_POUND, MM_PER_INCH

_VULGAR = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⁄": "/",
}
_NUMBER = r"(?:\d+(?:[ -]+\d+/\d+)?|\d+/\d+|\d*\.\d+)"
_MEASURE = re.compile(rf"(?P<number>-?{_NUMBER}|-?\d+\.\d*)\s*(?P<unit>[a-z°\"']*)\.?")
_INCH, _POUND = Fraction(str(MM_PER_INCH)), Fraction(str(KG_PER_POUND))
_FOOT = 12 * _INCH
MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    **dict.fromkeys(("in", "inch", "inches", '"'), _INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'"), _FOOT),
}
KG_PER_UNIT = {
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "oz": _POUND / 16,
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), _POUND),
}


def value_of(
    given: float | str, per_unit: dict[str, Fraction], bare: str
) -> float | None:
    """Return a measure in the table's base unit, or None when it cannot be read."""
    if not isinstance(given, str):
        return float(given) * float(per_unit[bare])
    written = measure(given)
    if written is None or written[1] not in {"", *per_unit}:
        return None
    number, unit = written
    return float(number * per_unit[unit or bare])


def is_imperial_mass(text: str) -> bool | None:
    """Tell whether a weight is written in pounds or ounces; None without a unit."""
    written = measure(text)
    if written is None or written[1] not in KG_PER_UNIT:
        return None
    return written[1] not in ("kg", "g")


def tidy(text: str) -> str:
    """Return lower-case text with one kind of quote, fraction and decimal point."""
    plain = text.strip().lower()
    for sign, spelt in _VULGAR.items():
        apart = "" if spelt == "/" else " "
        plain = re.sub(rf"(?<=\d)\s*{sign}", f"{apart}{spelt}", plain)
        plain = plain.replace(sign, spelt)
    for quote in ("″", "”", "“", "''"):
        plain = plain.replace(quote, '"')
    for quote in ("′", "’"):
        plain = plain.replace(quote, "'")
    plain = plain.replace("−", "-")
    return re.sub(r"(?<=\d),(?=\d)", ".", plain)


def measure(text: str) -> tuple[Fraction, str] | None:
    """Return (number, unit) of "1 1/8 in", or None when it is not a measure."""
    match = _MEASURE.fullmatch(tidy(text).lstrip("+"))
    if match is None:
        return None
    number = match["number"]
    sign = -1 if number.startswith("-") else 1
    parts = re.split(r"[ -]+", number.lstrip("-"))
    if any(re.search(r"/0+$", part) for part in parts):
        return None
    return sign * sum((Fraction(part) for part in parts), Fraction()), match["unit"]
