"""`emcforecast weight`: how heavy a stack is, never what a floor bears."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from emcforecast import bounds
from emcforecast.cautions import Caution
from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import board_options, output_options
from emcforecast.cli.values import NumberRange, OneOf, WholeRange
from emcforecast.errors import InputError
from emcforecast.language import _, n_
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    from emcforecast.thickness import Thickness
    from emcforecast.units import UnitSystem
    from emcforecast.wood.species import Species
    from emcforecast.wood.weight import StackWeight

HOUSE_FLOOR = 195.3
"""Usual design load of a dwelling's floor, kg/m²: 40 lb/ft² (common practice)."""


@click.command("weight", cls=Command, short_help="How heavy a stack is.")
@board_options
@click.option(
    "--layers",
    type=WholeRange(1, 1000),
    default=8,
    show_default=True,
    help="Layers of boards.",
)
@click.option(
    "--mc",
    type=NumberRange(*bounds.MOISTURE),
    default=None,
    help="Moisture content, % of oven-dry mass. [default: green]",
)
@click.option(
    "--part",
    type=OneOf(["mixed", "heartwood", "sapwood"]),
    default="mixed",
    show_default=True,
    help="Part of the tree, for green wood.",
)
@click.option("--width", default=None, help="Width of the stack: 4ft, 1.2m.")
@click.option("--length", default=None, help="Length of the stack: 8ft, 2.5m.")
@click.option(
    "--fill",
    type=NumberRange(0.3, 1.0),
    default=1.0,
    show_default=True,
    help="Share of a layer that is wood; 1 is boards without gaps.",
)
@click.option("--no-stickers", is_flag=True, help="Leave the stickers out.")
@output_options
def command(
    species: str,
    yard_file: Path | None,
    thickness: str,
    layers: int,
    mc: float | None,
    part: str,
    width: str | None,
    length: str | None,
    fill: float,
    no_stickers: bool,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
) -> None:
    """Show what a stack weighs: a layer, the whole stack, and per area of floor."""
    from emcforecast.report.cautions import caution_words
    from emcforecast.report.names import name_note
    from emcforecast.report.weather import moisture_source
    from emcforecast.thickness import parse_thickness
    from emcforecast.units import parse_length
    from emcforecast.wood.species import PARTS
    from emcforecast.wood.weight import Stickers, stack_weight

    system = common.units_or_default(units)
    asked = common.units_asked(units)
    if (width is None) != (length is None):
        raise InputError(
            _(
                "the weight of the whole stack needs both --width and "
                "--length. Give the other one too, or neither for the weight "
                "per area."
            )
        )
    wood = common.wood_for(species, yard_file)
    size = parse_thickness(thickness)
    stack = stack_weight(
        wood.species,
        size.actual_mm,
        layers,
        moisture=mc,
        part=next(known for known in PARTS if known == part),
        fill=fill,
        stickers=Stickers(density=0.0) if no_stickers else None,
        width_mm=None if width is None else parse_length(width, asked),
        length_mm=None if length is None else parse_length(length, asked),
    )
    result = {
        "kg_per_m2": stack.kg_per_m2,
        "lb_per_ft2": stack.lb_per_ft2,
        "total_kg": stack.total_kg,
        "layer_kg_per_m2": stack.layer_kg_per_m2,
        "stickers_kg_per_m2": stack.stickers_kg_per_m2,
        "layers": layers,
        "mc": stack.moisture,
        "mc_source": moisture_source(stack),
        "footprint_m2": stack.footprint_m2,
    }
    inputs = {
        "species": species,
        "thickness": thickness,
        "layers": layers,
        "mc": mc,
        "part": part,
        "width": width,
        "length": length,
        "fill": fill,
        "stickers": not no_stickers,
    }
    common.give(
        Answer(
            "weight",
            inputs,
            result,
            _text(wood.species, size, stack, system),
            [result],
            warnings=[*filter(None, [name_note(wood)])],
            cautions=caution_words([Caution.WEIGHT, Caution.LEANING]),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _text(
    species: "Species", size: "Thickness", stack: "StackWeight", system: "UnitSystem"
) -> str:
    from emcforecast.report.names import wood_name
    from emcforecast.report.weather import moisture_source
    from emcforecast.report.words import is_narrow, wrapped
    from emcforecast.units import format_load, format_mass

    per_area = format_load(stack.kg_per_m2, system)
    total = stack.total_kg
    fields = {
        "board": _(
            "{thickness} {wood}",
            thickness=size.label(system),
            wood=wood_name(species.spoken),
        ),
        "mc": stack.moisture,
        "load": per_area,
    }
    if total is None:
        answer = n_(
            "{count} layer of {board} at {mc:.0f} % MC weighs {load} of stack.",
            "{count} layers of {board} at {mc:.0f} % MC weigh {load} of stack.",
            stack.layers,
            **fields,
        )
    else:
        answer = n_(
            "{count} layer of {board} at {mc:.0f} % MC weighs {load} of stack, {mass} "
            "in all.",
            "{count} layers of {board} at {mc:.0f} % MC weigh {load} of stack, {mass} "
            "in all.",
            stack.layers,
            mass=format_mass(total, system),
            **fields,
        )
    layers = n_(
        "{count} layer with stickers", "{count} layers with stickers", stack.layers
    )
    rows = [
        (_("one layer of boards"), format_load(stack.layer_kg_per_m2, system)),
        (_("one row of stickers"), format_load(stack.stickers_kg_per_m2, system)),
        (layers, per_area),
    ]
    if total is not None:
        rows.append((_("the whole stack"), format_mass(total, system)))
    source = moisture_source(stack)
    return "\n".join(
        [
            wrapped(answer),
            "",
            *(
                f"  {name:{24 if is_narrow() else 32}}"
                f"{value:>{14 if is_narrow() else 18}}"
                for name, value in rows
            ),
            "",
            wrapped(
                _(
                    "For comparison: the floor of a house is usually designed for "
                    "{load} of everything on it, and this is {times:.1f} times that. "
                    "What your floor bears only a licensed engineer can tell.",
                    load=format_load(HOUSE_FLOOR, system),
                    times=stack.kg_per_m2 / HOUSE_FLOOR,
                )
            ),
            wrapped(
                _(
                    "Based on: specific gravity {gravity:.2f} (oven-dry on green); "
                    "moisture {mc:.0f} % of oven-dry mass, {source}. Snow, people and "
                    "what stands on the stack are not in it.",
                    gravity=species.basic_gravity,
                    mc=stack.moisture,
                    source=source,
                )
            ),
        ]
    )
