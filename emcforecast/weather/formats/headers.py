"""Column names in the wild, in several languages -> quantity and unit."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from emcforecast.weather.formats.header_words import (
    INDOOR,
    NOT_AIR,
    OUTDOOR,
    UNITS,
    WORDS,
)

_SUITS = {
    "temperature": {"C", "F", "K"},
    "relative_humidity": {"percent", "fraction", "g/m3", "g/kg", "kg/kg"},
    "vapour_pressure": {"Pa", "hPa", "kPa", "mmHg", "inHg"},
    "pressure": {"Pa", "hPa", "kPa", "mmHg", "inHg"},
    "specific_humidity": {"g/kg", "kg/kg"},
    "mixing_ratio": {"g/kg", "kg/kg"},
    "absolute_humidity": {"g/m3"},
    "precipitation": {"mm", "in", "cm"},
    "wind_speed": {"m/s", "km/h", "mph", "kn"},
    "shortwave": {"W/m2", "MJ/m2", "kJ/m2", "J/cm2"},
}
TEMPERATURES = (
    "air_temperature",
    "dew_point",
    "wet_bulb",
    "daily_maximum",
    "daily_minimum",
)
PLACE = ("site", "latitude", "longitude", "elevation")
TIMES = (
    *("datetime", "date", "clock", "year", "month", "day", "day_of_year"),
    *("hour", "minute"),
)


@dataclass(frozen=True)
class Column:
    """What a column name says.

    Attributes
    ----------
    name : str
        As printed in the file.
    quantity : str or None
        What it holds; None when the name says nothing known.
    unit : str or None
        Its unit, when the name says it.
    where : {"indoor", "outdoor", ""}
        Where the sensor is, when the name says it.
    """

    name: str
    quantity: str | None
    unit: str | None
    where: str


def plain(text: str) -> str:
    """Return a name in lower case, without accents, signs turned to spaces.

    Examples
    --------
    >>> plain("Humidité_relative (%)")
    'humidite relative'
    """
    low = text.lower().replace("ß", "ss").replace("ł", "l").replace("ø", "o")
    low = low.replace("ı", "i").replace("æ", "ae").replace("đ", "d")
    parts = unicodedata.normalize("NFKD", low)
    bare = "".join(char for char in parts if not unicodedata.combining(char))
    # Cyrillic and Asian scripts are composed again so that the word list matches.
    return " ".join(re.sub(r"[\W_]+", " ", unicodedata.normalize("NFC", bare)).split())


_LOOKUP = {
    plain(word): quantity
    for quantity, words in WORDS.items()
    for word in words.split("|")
}


def _unit_in(text: str, allowed: set[str] | None) -> str | None:
    low = unicodedata.normalize("NFC", text.lower().replace("µ", "u"))
    for sign, unit in UNITS:
        if allowed is not None and unit not in allowed:
            continue
        edge = r"(?<![a-z])" if sign[0].isalpha() else ""
        tail = r"(?![a-z0-9])" if sign[-1].isalnum() else ""
        if re.search(edge + re.escape(sign) + tail, low):
            return unit
    return None


def allowed_units(quantity: str) -> set[str] | None:
    """Return the units a quantity may have, or None when any will do."""
    return _SUITS.get("temperature" if quantity in TEMPERATURES else quantity)


def read_header(name: str, unit_cell: str = "") -> Column:
    """Say what a column holds from its name.

    Examples
    --------
    >>> read_header("Temperatur [°C]").quantity, read_header("temp_f").unit
    ('air_temperature', 'F')
    >>> read_header("rel. Feuchte (%)").quantity, read_header("Wind direction").quantity
    ('relative_humidity', None)
    """
    words = plain(name).split()
    where = "indoor" if INDOOR & set(words) else ""
    where = "outdoor" if OUTDOOR & set(words) else where
    quantity = _match(name)
    unit = None
    if quantity is not None and quantity not in (*TIMES, *PLACE):
        allowed = allowed_units(quantity)
        unit = _unit_in(unit_cell, allowed) if unit_cell.strip() else None
        if unit is None:
            unit = _unit_in(_unit_part(name), allowed)
        if quantity == "relative_humidity" and unit in ("g/m3", "g/kg", "kg/kg"):
            quantity = "absolute_humidity" if unit == "g/m3" else "mixing_ratio"
    return Column(name=name.strip(), quantity=quantity, unit=unit, where=where)


def _unit_part(name: str) -> str:
    """Return the part of a name where a unit stands, words kept out of it."""
    inside = re.findall(r"[\(\[\{<]([^\)\]\}>]*)", name)
    rest = re.sub(r"[\(\[\{<][^\)\]\}>]*[\)\]\}>]?", " ", name)
    tail = re.split(r"[\s_,/;:]+", rest.strip())
    # "temp_c", "Temp °F", "wind_km/h": the last word, and every sign that is not one.
    ends = tail[-1:] if len(tail) > 1 else []
    camel = re.findall(r"(?<=[a-z])[CF]$", rest.strip())
    signs = re.findall(r"[°º˚℃℉%]\s*[A-Za-z]*", rest)
    words = re.findall(
        r"(?i)celsius|fahrenheit|kelvin|percent|pct|hpa|kpa|mbar|mph|km/?h|knots|"
        r"w/?m\^?[2²]|mm|m/s|deg ?[cf]\b|inhg|inches|fraction|g/m\^?[3³]|g/kg",
        rest,
    )
    joined = re.findall(r"(?i)^(?:temp|t)([cf])$", rest.strip())
    return " ".join([*inside, *ends, *camel, *joined, *signs, *words])


def _match(name: str) -> str | None:
    bare = plain(re.sub(r"[\(\[\{<][^\)\]\}>]*[\)\]\}>]?", " ", name))
    full = plain(name)
    # Channels of a logger: T1, RH2, Temp 1.
    bare = re.sub(r"\b(t|temp|temperature|rh|hum|humidity)(?: ?[1-9])\b", r"\1", bare)
    for text in (full, bare):
        if text in _LOOKUP:
            return _LOOKUP[text]
    words = [
        word for word in bare.split() if word in _LOOKUP or word not in INDOOR | OUTDOOR
    ]
    candidates = [" ".join(words[:n]) for n in range(len(words), 0, -1)]
    candidates += [" ".join(words[n:]) for n in range(1, len(words))]
    candidates += [
        " ".join(words[a:b])
        for a in range(1, len(words))
        for b in range(len(words) - 1, a, -1)
    ]
    found = [text for text in candidates if text in _LOOKUP]
    if not found:
        return None
    best = max(found, key=lambda text: (len(text.split()), len(text)))
    quantity = _LOOKUP[best]
    if quantity in ("hour", "minute", "day", "month", "year", "date") and (
        len(words) > 2 and best not in (words[0], words[-1])
    ):
        return None
    rest = set(words) - set(best.split())
    if quantity not in TIMES and rest & NOT_AIR:
        return None
    if len(best) <= 2 and len(words) > 2:
        return None
    return quantity
