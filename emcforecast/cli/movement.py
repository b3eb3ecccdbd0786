"""`emcforecast movement`: how much a board moves with its moisture."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, group
from emcforecast.cli.options import output_options, yard_option
from emcforecast.conversions import mm_to_inches
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    from emcforecast.units import UnitSystem
    from emcforecast.wood.movement import Grain, Movement, Side
    from emcforecast.wood.species import Species

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
_GRAIN_WORDS = {"flat": "flatsawn", "quarter": "quartersawn", "rift": "rift-sawn"}


@dataclass(frozen=True)
class _Asked:
    species: "Species"
    width_mm: float
    thickness_mm: float | None
    from_mc: float
    to_mc: float
    system: "UnitSystem"


@click.command(
    "movement",
    cls=group.Command,
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
    type=group.NUMBER,
    default=14.0,
    show_default=True,
    help="Moisture content before, % of oven-dry mass.",
)
@click.option(
    "--to",
    "--to-mc",
    "to_mc",
    type=group.NUMBER,
    default=8.0,
    show_default=True,
    help="Moisture content after, %.",
)
@click.option(
    "--grain",
    type=click.Choice(list(_GRAIN_NAMES), case_sensitive=False),
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
    from emcforecast.report.weather import formula_words
    from emcforecast.thickness import parse_thickness
    from emcforecast.units import parse_length
    from emcforecast.wood.movement import movement, sawn_size

    system, bare = common.units_or_default(units), common.units_asked(units)
    wood = common.wood_for(species, yard_file)
    asked = _Asked(
        wood.species,
        parse_length(width or ("12 in" if system == "us" else "300 mm"), bare),
        None if thickness is None else parse_thickness(thickness).actual_mm,
        from_mc,
        to_mc,
        system,
    )
    sawn_as = _grain(grain)
    allowance = 0.0 if planing.strip() == "0" else parse_length(planing, bare)
    change = movement(asked.species, asked.width_mm, from_mc, to_mc, grain=sawn_as)
    rows = _rows(asked)
    final_mc = min(from_mc, to_mc)
    saw = sawn_size(
        asked.species, asked.width_mm, final_mc, grain=sawn_as, allowance_mm=allowance
    )
    result = {
        "change_mm": change.change_mm,
        "change_in": change.change_in,
        "from_mc": from_mc,
        "to_mc": to_mc,
        "width_mm": asked.width_mm,
        "final_mm": change.final_mm,
        "grain": sawn_as,
        "species": asked.species.name,
        "how": formula_words(change),
        "saw_green_mm": saw.size_mm,
        "all_grains": rows,
    }
    inputs = {
        "species": species,
        "width": width,
        "thickness": thickness,
        "from_mc": from_mc,
        "to_mc": to_mc,
        "grain": sawn_as,
        "planing": planing,
    }
    common.give(
        Answer(
            "movement",
            inputs,
            result,
            _text(asked, sawn_as, change, saw.size_mm, allowance, rows),
            rows,
            warnings=(wood.note,) if wood.note else (),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _grain(given: str) -> "Grain":
    from emcforecast.wood.movement import GRAINS

    return next(grain for grain in GRAINS if grain == _GRAIN_NAMES[given.lower()])


def _rows(asked: _Asked) -> list[dict[str, Any]]:
    """Return the change of every grain and side asked for."""
    from emcforecast.errors import InputError
    from emcforecast.wood.movement import GRAINS, movement

    sizes: list[tuple[Side, float]] = [("width", asked.width_mm)]
    if asked.thickness_mm is not None:
        sizes.append(("thickness", asked.thickness_mm))
    rows = []
    for grain in GRAINS:
        for side, size in sizes:
            try:
                change = movement(
                    *(asked.species, size, asked.from_mc, asked.to_mc),
                    grain=grain,
                    side=side,
                )
            except InputError:  # No shrinkage is published across this grain.
                change = None
            rows.append(
                {
                    "grain": grain,
                    "side": side,
                    "size_mm": size,
                    "change_mm": None if change is None else change.change_mm,
                    "change_in": None if change is None else change.change_in,
                }
            )
    return rows


def _text(
    asked: _Asked,
    grain: "Grain",
    change: "Movement",
    saw_mm: float,
    allowance: float,
    rows: list[dict[str, Any]],
) -> str:
    from emcforecast.report.weather import formula_words
    from emcforecast.report.words import is_narrow, wrapped
    from emcforecast.units import format_length

    system = asked.system
    moves = "shrinks" if change.change_mm < 0 else "grows"
    amount = _change(abs(change.change_mm), system)
    width = format_length(asked.width_mm, system)
    answer = (
        f"A {_GRAIN_WORDS[grain]} {asked.species.spoken} board {width} wide {moves} by "
        f"{amount} from {asked.from_mc:g} to {asked.to_mc:g} % MC."
    )
    if abs(change.change_mm) < 1e-9:
        answer = (
            f"A {asked.species.spoken} board {width} wide does not move from "
            f"{asked.from_mc:g} to {asked.to_mc:g} % MC: above about "
            f"{asked.species.shrinkage_starts:g} % wood keeps its size."
        )
    cells = [("sawn", "side", "size", "change")]
    cells += [
        (
            _GRAIN_WORDS[row["grain"]],
            row["side"],
            format_length(row["size_mm"], system),
            _change(row["change_mm"], system, signed=True),
        )
        for row in rows
    ]
    table = [
        f"{sawn:12}{side:10}{change:>16}"
        if is_narrow()
        else f"{sawn:16}{side:12}{size:>12}{change:>18}"
        for sawn, side, size, change in cells
    ]
    extra = f" and {format_length(allowance, system)} for planing" if allowance else ""
    dry = min(asked.from_mc, asked.to_mc)
    return "\n".join(
        [
            wrapped(answer),
            "",
            *table,
            "",
            wrapped(
                f"To end {width} wide at {dry:g} %, saw it {_change(saw_mm, system)} "
                f"green ({_GRAIN_WORDS[grain]}{extra})."
            ),
            wrapped(
                f"Based on: {formula_words(change)} (% of oven-dry mass). One board "
                "may move a quarter more or less. Along the grain it hardly moves."
            ),
        ]
    )


def _change(
    change_mm: float | None, system: "UnitSystem", *, signed: bool = False
) -> str:
    """Return a small size with the digits a caliper shows."""
    if change_mm is None:
        return "not published"
    sign = "+" if signed else ""
    if system == "us":
        return f"{mm_to_inches(change_mm):{sign}.2f} in"
    return f"{change_mm:{sign}.1f} mm"
