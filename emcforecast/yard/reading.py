"""One reading: from and to the text of the log."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time

from emcforecast.errors import InputError, YardError
from emcforecast.language import _, did_you_mean, number
from emcforecast.units import (
    UnitSystem,
    format_mass,
    parse_length,
    parse_mass,
    parse_temperature,
)

KINDS = ("pin", "pinless", "weight", "oven")
PARTS = ("shell", "core")
_OVER = ("over", "ol", "wet", "full")
_WORD_FOR = {"surface": "shell", "middle": "core", "centre": "core", "center": "core"}


@dataclass(frozen=True)
class Reading:
    """What somebody read on a stack, as it was read.

    Parameters
    ----------
    time : datetime
        Local time; midnight when only the day is known.
    whole_day : bool
        Only the day is known.
    stack : str
        The stack's name.
    kind : {"pin", "pinless", "weight", "oven"}
        By meter, by weighing a sample board, or by an oven test.
    value : float
        % MC as the meter or the oven test showed it, infinite when the meter showed
        "over"; kg for a weight.
    board : str
        The mark on the board, or "".
    depth_mm : float or None
        Depth of the pins, mm.
    part : {"shell", "core"} or None
        The part of the board read, where that was said in words.
    wood_temperature : float or None
        °C.
    species_setting : str
        What the meter was set to.
    note : str
    line : int or None
        Line of the log.
    pounds : bool
        The weight was read in pounds.
    """

    time: datetime
    whole_day: bool
    stack: str
    kind: str
    value: float
    board: str = ""
    depth_mm: float | None = None
    part: str | None = None
    wood_temperature: float | None = None
    species_setting: str = ""
    note: str = ""
    line: int | None = None
    pounds: bool = field(default=False, compare=False)

    @property
    def day(self) -> date:
        """The day it was taken."""
        return self.time.date()

    @property
    def shown(self) -> str:
        """The value in words, as the person saw it."""
        if self.kind == "weight":
            if self.pounds:
                return format_mass(self.value, "us")
            return f"{number(self.value, '.3f')} kg"
        if math.isinf(self.value):
            return _("over the scale")
        return _("{mc:g} %", mc=self.value)


def reading_from(
    fields: Mapping[str, str], system: UnitSystem | None, line: int | None = None
) -> Reading:
    """Read a row of the log.

    Parameters
    ----------
    fields : mapping of str to str
        The text under each heading.
    system : {"us", "si"} or None
        Units of bare temperatures, depths and weights; None refuses them.
    line : int, optional
        Line of the log, kept in the reading.

    Returns
    -------
    Reading

    Raises
    ------
    YardError
        When a cell cannot be understood: what was given and what is allowed.

    Examples
    --------
    >>> row = {"time": "2026-04-01", "stack": "oak-1", "kind": "pin", "value": "18,5"}
    >>> reading_from(row, "si").value
    18.5
    """
    cell = {key: text.strip() for key, text in fields.items()}
    when, whole_day = _moment(cell.get("time", ""))
    if not cell.get("stack"):
        raise YardError(_("the reading names no stack."))
    kind = cell.get("kind", "").lower()
    if kind not in KINDS:
        raise YardError(
            _(
                "kind '{cell}' is not known.{near} Allowed: {known}.",
                cell=cell.get("kind", ""),
                near=did_you_mean(kind, KINDS),
                known=", ".join(KINDS),
            )
        )
    depth_mm, part = _depth(cell.get("depth", ""), system)
    temperature = cell.get("wood_temperature", "")
    try:
        warmth = parse_temperature(temperature, system) if temperature else None
    except InputError as error:
        raise YardError(_("wood_temperature: {error}", error=error)) from error
    return Reading(
        time=when,
        whole_day=whole_day,
        stack=" ".join(cell["stack"].split()),
        kind=kind,
        value=_value(cell.get("value", ""), kind, system),
        board=cell.get("board", ""),
        depth_mm=depth_mm,
        part=part,
        wood_temperature=warmth,
        species_setting=cell.get("species_setting", ""),
        note=cell.get("note", ""),
        line=line,
        pounds=_in_pounds(cell.get("value", ""), system),
    )


def fields_of(
    given: Mapping[str, str | None], system: UnitSystem | None
) -> dict[str, str]:
    """Return a row for the log from what a person typed, its units written out.

    Parameters
    ----------
    given : mapping of str to str or None
        Text under the log's headings; None for what was not said.
    system : {"us", "si"} or None
        Units of bare temperatures, depths and weights; None refuses them.

    Returns
    -------
    dict of str to str
        Temperatures, depths and weights carry their unit, so that the row means the
        same when the yard changes its units.

    Raises
    ------
    YardError
        When it is not a reading.

    Examples
    --------
    >>> fields_of({"time": "2026-04-01", "stack": "oak-1", "kind": "pin",
    ...            "value": "18.5", "wood_temperature": "30"}, "us")["wood_temperature"]
    '30 F'
    """
    row = {key: text.strip() for key, text in given.items() if text and text.strip()}
    reading = reading_from(row, system)
    row["kind"] = reading.kind
    units = {"wood_temperature": ("F", "C"), "depth": ("in", "mm")}
    if reading.kind == "weight":
        units["value"] = ("lb", "kg")
    elif math.isinf(reading.value):
        row["value"] = "over"
    else:
        row["value"] = f"{reading.value:g}"
    for key, names in units.items():
        if re.fullmatch(r"-?[\d.,]+", row.get(key, "")):
            row[key] = f"{row[key]} {names[0] if system == 'us' else names[1]}"
        if key in row:
            row[key] = row[key].replace("°", " ").replace(",", ".").replace('"', " in")
            row[key] = " ".join(row[key].split())
    if reading.part:
        row["depth"] = reading.part
    row["time"] = (
        reading.day.isoformat()
        if reading.whole_day
        else reading.time.isoformat(timespec="minutes")
    )
    return row


def _in_pounds(text: str, system: UnitSystem | None) -> bool:
    bare = re.fullmatch(r"[\d.,\s]+", text) is not None
    return system == "us" if bare else "lb" in text.lower() or "oz" in text.lower()


def _moment(text: str) -> tuple[datetime, bool]:
    tidy = text.strip().replace(" ", "T", 1)
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", tidy):
            return datetime.combine(date.fromisoformat(tidy), time()), True
        if re.match(r"\d{4}-\d\d-\d\dT\d", tidy):
            # The clock on the wall is what counts; a stated offset is not needed.
            return datetime.fromisoformat(tidy).replace(tzinfo=None), False
    except ValueError:
        pass
    raise YardError(
        _(
            "time {text!r} cannot be read. Write year-month-day, such as "
            "2026-04-01 or 2026-04-01 08:15.",
            text=text,
        )
    )


def _depth(text: str, system: UnitSystem | None) -> tuple[float | None, str | None]:
    word = _WORD_FOR.get(text.lower(), text.lower())
    if not text or word in PARTS:
        return None, word or None
    try:
        return parse_length(text, system), None
    except InputError as error:
        raise YardError(
            _(
                "depth {text!r} cannot be read. Write it with its unit, 8 mm "
                "or 3/8 in, or shell or core.",
                text=text,
            )
        ) from error


def _value(text: str, kind: str, system: UnitSystem | None) -> float:
    if kind == "weight":
        try:
            return parse_mass(text, system)
        except InputError as error:
            raise YardError(_("value: {error}", error=error)) from error
    tidy = text.lower().removesuffix("%").strip()
    if tidy in _OVER or tidy.startswith(">"):
        return math.inf
    if re.fullmatch(r"-?\d+([.,]\d+)?", tidy):
        return float(tidy.replace(",", "."))
    if kind == "oven":
        raise YardError(
            _(
                "value {given!r} is not a number. Write what the oven test showed in "
                "% MC, such as 18.5, or over.",
                given=text,
            )
        )
    raise YardError(
        _(
            "value {given!r} is not a number. Write what the {kind} meter showed in "
            "% MC, such as 18.5, or over.",
            given=text,
            kind=kind,
        )
    )
