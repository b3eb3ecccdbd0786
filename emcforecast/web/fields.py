"""What several questions of the pages ask alike, read from the fields of an address."""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from emcforecast.dates import day_given
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.storage.kinds import SETTINGS
from emcforecast.units import UnitSystem, parse_length
from emcforecast.web import levers
from emcforecast.web.sources import number

if TYPE_CHECKING:
    from emcforecast.forecast.targets import Target
    from emcforecast.storage.settings import Setting
    from emcforecast.wood.species import Found

MOVES = ("move1", "move2")
"""Names that the fields of a move begin with."""


def boards_of(asked: Mapping[str, str]) -> "tuple[Found, list[str]]":
    """Return the wood of a question and its thicknesses, parted by semicolons.

    Raises
    ------
    InputError
        When a wood or a thickness is not understood.
    """
    from emcforecast.thickness import parse_thickness
    from emcforecast.wood.species import resolve_species

    wood = resolve_species(asked["species"], {})
    thicknesses = [part.strip() for part in asked["thickness"].split(";")]
    for thickness in thicknesses:
        parse_thickness(thickness)
    return wood, thicknesses


def board_of(asked: Mapping[str, str]) -> "tuple[Found, str]":
    """Return the wood of a question and its one thickness; raises `InputError`."""
    wood, thicknesses = boards_of(asked)
    if len(thicknesses) > 1:
        raise InputError(
            _(
                "thickness {thickness!r}: here one at a time, such as 27 mm",
                thickness=asked["thickness"],
            )
        )
    return wood, thicknesses[0]


def places_changed(asked: Mapping[str, str]) -> "list[Setting]":
    """Return the places that are not as the program assumes them."""
    return [
        levers.setting_of(name, asked)
        for name in SETTINGS
        if levers.is_changed(name, asked)
    ]


def sizes_of(asked: Mapping[str, str], system: UnitSystem) -> dict[str, Any]:
    """Return what a question says of the boards' size and moisture when stacked.

    Raises
    ------
    InputError
        When a length or the moisture is no number.
    """
    wide, long, wet = (asked.get(name) for name in ("width", "length", "from_mc"))
    return {
        "width_mm": parse_length(wide, system) if wide else None,
        "length_mm": parse_length(long, system) if long else None,
        "sealed_ends": asked.get("sealed_ends") == "yes",
        "from_mc": number(_("moisture when stacked"), wet) if wet else None,
    }


def place_of(name: str, asked: Mapping[str, str]) -> "Setting":
    """Return a place by its short name, as its levers are set.

    Raises
    ------
    InputError
        When there is no such place.
    """
    if name not in SETTINGS:
        raise InputError(
            _(
                "place {name!r}: allowed are {allowed}",
                name=name,
                allowed=", ".join(SETTINGS),
            )
        )
    return levers.setting_of(name, asked)


def moves_of(asked: Mapping[str, str]) -> "list[tuple[date, Setting]]":
    """Return the days on which the boards are carried, and where to.

    Raises
    ------
    InputError
        When a day or a place is missing or not understood.
    """
    moves = []
    for move in MOVES:
        day, there = asked.get(f"{move}_date"), asked.get(f"{move}_to")
        if bool(day) != bool(there):
            raise InputError(
                _("a move needs both a day and a place; give both or none")
            )
        if day and there:
            moves.append((day_given("move", day), place_of(there, asked)))
    return moves


def target_of(asked: Mapping[str, str]) -> "Target":
    """Return what the wood must be fit for, said one way.

    Raises
    ------
    InputError
        When it is said in more than one way, or not understood.
    """
    from emcforecast.forecast.targets import (
        target_for_use,
        target_of_number,
        target_of_reading,
    )

    given = [n for n in ("use", "target", "old_piece") if asked.get(n)]
    if len(given) > 1:
        raise InputError(
            _(
                "say what the wood must be fit for one way only: a use, a "
                "moisture, or what an old piece in the room reads"
            )
        )
    if given == ["target"]:
        return target_of_number(number("target", asked["target"]))
    if given == ["old_piece"]:
        return target_of_reading(number("old piece", asked["old_piece"]))
    return target_for_use(asked.get("use", "furniture"), asked.get("region") or None)
