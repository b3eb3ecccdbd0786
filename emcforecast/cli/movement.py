"""`emcforecast movement`: how much a board moves with its moisture."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options, yard_option
from emcforecast.cli.values import NUMBER, OneOf

if TYPE_CHECKING:
    from emcforecast.wood.movement import Grain

_GRAIN_NAMES = {
    "flat": "flat",
    "flatsawn": "flat",
    "plain": "flat",
    "plainsawn": "flat",
    "quarter": "quarter",
    "quartersawn": "quarter",
    "rift": "rift",
    "riftsawn": "rift",
}


@click.command(
    "movement",
    cls=Command,
    short_help="How much a board moves with its moisture.",
)
@click.option(
    "--species",
    default="European larch",
    show_default=True,
    help="The wood, by any name.",
)
@yard_option
@click.option(
    "--width",
    default=None,
    help="Width with its unit: 12in, 300mm. [default: 12 in or 300 mm]",
)
@click.option("--thickness", default=None, help="Thickness too: 4/4, 27mm, '1 1/8 in'.")
@click.option(
    "--from",
    "--from-mc",
    "from_mc",
    type=NUMBER,
    default=14.0,
    show_default=True,
    help="Moisture content before, % of oven-dry mass.",
)
@click.option(
    "--to",
    "--to-mc",
    "to_mc",
    type=NUMBER,
    default=8.0,
    show_default=True,
    help="Moisture content after, %.",
)
@click.option(
    "--grain",
    type=OneOf(list(_GRAIN_NAMES), case_sensitive=False),
    default="flat",
    show_default=True,
    help="How the board is sawn.",
)
@click.option(
    "--planing",
    default="0",
    help="What planing and edging take off, for the size to saw: 1/8 in, 3mm.",
)
@output_options
def command(
    species: str,
    yard_file: Path | None,
    width: str | None,
    thickness: str | None,
    from_mc: float,
    to_mc: float,
    grain: str,
    planing: str,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
) -> None:
    """Show how much a board grows or shrinks across the grain.

    Also the width to saw green, so that it ends at the width given.
    """
    from emcforecast.answers.movement import movement_answer
    from emcforecast.thickness import parse_thickness
    from emcforecast.units import parse_length

    system, bare = common.units_or_default(units), common.units_asked(units)
    wood = common.wood_for(species, yard_file)
    sawn_as = _grain(grain)
    answered = movement_answer(
        wood,
        parse_length(width or ("12 in" if system == "us" else "300 mm"), bare),
        from_mc,
        to_mc,
        grain=sawn_as,
        thickness_mm=None
        if thickness is None
        else parse_thickness(thickness).actual_mm,
        allowance_mm=0.0 if planing.strip() == "0" else parse_length(planing, bare),
        system=system,
        inputs={
            "species": species,
            "width": width,
            "thickness": thickness,
            "from_mc": from_mc,
            "to_mc": to_mc,
            "grain": sawn_as,
            "planing": planing,
        },
    )
    common.give(answered.answer, as_json=as_json, csv_file=csv_file)


def _grain(given: str) -> "Grain":
    from emcforecast.wood.movement import GRAINS

    return next(grain for grain in GRAINS if grain == _GRAIN_NAMES[given.lower()])
