"""`emcforecast movement`: how much a board moves with its moisture."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, group
from emcforecast.cli.options import output_options, yard_option
from emcforecast.conversions import mm_to_inches
from emcforecast.language import N_, _, number
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
_GRAIN_WORDS = {
    "flat": N_("flatsawn"),
    "quarter": N_("quartersawn"),
    "rift": N_("rift-sawn"),
}
_SIDES = {"width": N_("width"), "thickness": N_("thickness")}


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
    from emcforecast.report.names import wood_name
    from emcforecast.report.weather import formula_words
    from emcforecast.report.words import is_narrow, wrapped
    from emcforecast.units import format_length

    system = asked.system
    width = format_length(asked.width_mm, system)
    said = (
        N_(
            "A {wood} board {width} wide does not move from {start:g} to {end:g} % MC: "
            "above about {starts:g} % wood keeps its size."
        )
        if abs(change.change_mm) < 1e-9
        else N_(
            "A {sawn} {wood} board {width} wide shrinks by {change} from {start:g} to "
            "{end:g} % MC."
        )
        if change.change_mm < 0
        else N_(
            "A {sawn} {wood} board {width} wide grows by {change} from {start:g} to "
            "{end:g} % MC."
        )
    )
    answer = _(
        said,
        sawn=_(_GRAIN_WORDS[grain]),
        wood=wood_name(asked.species.spoken),
        width=width,
        change=_change(abs(change.change_mm), system),
        start=asked.from_mc,
        end=asked.to_mc,
        starts=asked.species.shrinkage_starts,
    )
    cells = [(_("sawn"), _("side"), _("size"), _("change"))]
    cells += [
        (
            _(_GRAIN_WORDS[row["grain"]]),
            _(_SIDES[row["side"]]),
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
    saw = _(
        N_(
            "To end {width} wide at {mc:g} %, saw it {size} green ({sawn} and "
            "{allowance} for planing)."
        )
        if allowance
        else N_("To end {width} wide at {mc:g} %, saw it {size} green ({sawn})."),
        width=width,
        mc=min(asked.from_mc, asked.to_mc),
        size=_change(saw_mm, system),
        sawn=_(_GRAIN_WORDS[grain]),
        allowance=format_length(allowance, system) if allowance else "",
    )
    return "\n".join(
        [
            wrapped(answer),
            "",
            *table,
            "",
            wrapped(saw),
            wrapped(
                _(
                    "Based on: {formula} (% of oven-dry mass). One board may move a "
                    "quarter more or less. Along the grain it hardly moves.",
                    formula=formula_words(change),
                )
            ),
        ]
    )


def _change(
    change_mm: float | None, system: "UnitSystem", *, signed: bool = False
) -> str:
    """Return a small size with the digits a caliper shows."""
    if change_mm is None:
        return _("not published")
    sign = "+" if signed else ""
    if system == "us":
        return f"{number(mm_to_inches(change_mm), f'{sign}.2f')} in"
    return f"{number(change_mm, f'{sign}.1f')} mm"
