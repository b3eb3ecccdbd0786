"""`emcforecast meter`: what a moisture reading means, step by step."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cautions import Caution
from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.meter_ways import (
    Said,
    judge_shell_and_core,
    result_of,
    weigh_oven_dry,
    weigh_sample_board,
)
from emcforecast.cli.options import output_options, stacked, yard_option
from emcforecast.cli.values import NUMBER, OneOf
from emcforecast.errors import InputError
from emcforecast.language import N_, _
from emcforecast.report.answer import Answer
from emcforecast.report.words import wrapped

if TYPE_CHECKING:
    from emcforecast.units import UnitSystem
    from emcforecast.wood.meter import MeterSetting

how_read = stacked(
    click.option(
        "--kind",
        type=OneOf(["pin", "pinless"]),
        default="pin",
        show_default=True,
        help="How it measures.",
    ),
    click.option(
        "--wood-temp",
        "--wood-temperature",
        default=None,
        metavar="T",
        help="Of the wood itself: 30F, -1C.",
    ),
    click.option(
        "--calibrated",
        metavar="T",
        default="70F",
        show_default=True,
        help="Wood temperature it is made for.",
    ),
    click.option(
        "--compensated", is_flag=True, help="The meter corrects for temperature itself."
    ),
    click.option(
        "--rule",
        type=OneOf(["handbook", "full"]),
        default="handbook",
        show_default=True,
        help="0.5 % per 10 °F, or the equation.",
    ),
    click.option(
        "--species", metavar="WOOD", default=None, help="The wood, by any name."
    ),
    yard_option,
    click.option(
        "--set-gravity",
        type=NUMBER,
        default=None,
        metavar="NUMBER",
        help="Specific gravity it was set to.",
    ),
    click.option(
        "--depth",
        default=None,
        metavar="LENGTH",
        help="How deep the pins went: 1/4 in, 8mm.",
    ),
    click.option(
        "--thickness", metavar="SIZE", default=None, help="Of the board: 8/4, 54mm."
    ),
    click.option(
        "--insulated", is_flag=True, help="Only the tips of the pins touch the wood."
    ),
    click.option(
        "--face",
        type=OneOf(["planed", "rough", "end"]),
        default=None,
        help="Where it was read.",
    ),
)

other_ways = stacked(
    click.option(
        "--shell",
        type=NUMBER,
        metavar="MC",
        default=None,
        help="Reading near the face, %.",
    ),
    click.option(
        "--core",
        type=NUMBER,
        metavar="MC",
        default=None,
        help="Reading in the middle, %.",
    ),
    click.option(
        "--target",
        metavar="MC:MC",
        default=None,
        help="Wanted with --shell and --core: 7:9.",
    ),
    click.option(
        "--second",
        type=NUMBER,
        metavar="MC",
        default=None,
        help="Another meter's reading, %.",
    ),
    click.option(
        "--oven",
        nargs=2,
        default=None,
        metavar="WET DRY",
        help="Weights before and after: 136g 100g.",
    ),
    click.option(
        "--sample",
        nargs=3,
        default=None,
        metavar="FIRST MC NOW",
        help="Weight then, % MC then, weight now.",
    ),
)


@click.command("meter", cls=Command, short_help="What a moisture reading means.")
@click.argument("reading", type=NUMBER, required=False)
@how_read
@other_ways
@output_options
def command(
    reading: float | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Say what READING (% MC on the meter) stands for, step by step.

    Or judge a board by --shell and --core, two meters with --second, an oven-dry
    test with --oven, or a sample board's weights with --sample.
    """
    from emcforecast.report.cautions import caution_words

    system, bare = common.units_or_default(units), common.units_asked(units)
    ways: dict[str, Callable[[], Said]] = {
        "--oven": lambda: weigh_oven_dry(options["oven"]),
        "--sample": lambda: weigh_sample_board(options["sample"], bare, system),
        "--shell and --core": lambda: judge_shell_and_core(options),
        "READING": lambda: _reading(reading, options, system, bare),
    }
    asked = [
        way
        for way, given in (
            ("--oven", options["oven"] is not None),
            ("--sample", options["sample"] is not None),
            (
                "--shell and --core",
                options["shell"] is not None or options["core"] is not None,
            ),
            ("READING", reading is not None),
        )
        if given
    ]
    if len(asked) != 1:
        one = N_(
            "give one of {ways}. For example: emcforecast meter 12 --wood-temp 30F"
        )
        of_many = N_(
            "give one of {ways}; you gave {count}. For example: emcforecast meter 12 "
            "--wood-temp 30F"
        )
        raise InputError(
            _(of_many if asked else one, ways=", ".join(ways), count=len(asked))
        )
    said = ways[asked[0]]()
    common.give(
        Answer(
            "meter",
            {"reading": reading, **options},
            said.result,
            "\n".join(
                [
                    wrapped(said.headline),
                    "",
                    *(
                        wrapped(step, first=f"{number:2}. ", rest="    ")
                        for number, step in enumerate(said.steps, 1)
                    ),
                ]
            ),
            [{key: said.result[key] for key in ("reading", "corrected", "valid")}],
            cautions=caution_words([Caution.STRUCTURAL]),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _setting(options: Mapping[str, Any], bare: "UnitSystem | None") -> "MeterSetting":
    from emcforecast.thickness import parse_thickness
    from emcforecast.units import parse_length, parse_temperature
    from emcforecast.wood.meter import FACES, METER_KINDS, RULES, MeterSetting

    temperature, depth, thickness = (
        options[name] for name in ("wood_temp", "depth", "thickness")
    )
    return MeterSetting(
        kind=next(kind for kind in METER_KINDS if kind == options["kind"]),
        wood_temperature=(
            None if temperature is None else parse_temperature(temperature, bare)
        ),
        calibrated_at=parse_temperature(options["calibrated"], bare),
        compensated=options["compensated"],
        rule=next(rule for rule in RULES if rule == options["rule"]),
        set_gravity=options["set_gravity"],
        pin_depth_mm=None if depth is None else parse_length(depth, bare),
        thickness_mm=None
        if thickness is None
        else parse_thickness(thickness).actual_mm,
        insulated=options["insulated"],
        face=next((face for face in FACES if face == options["face"]), None),
    )


def _reading(
    reading: float | None,
    options: Mapping[str, Any],
    system: "UnitSystem",
    bare: "UnitSystem | None",
) -> Said:
    from emcforecast.report.meter import (
        correction_steps,
        likeliest_words,
        two_meters,
        verdict_words,
    )
    from emcforecast.report.names import name_note
    from emcforecast.wood.meter import interpret
    from emcforecast.wood.sample_board import meters_agree

    name = options["species"]
    wood = None if name is None else common.wood_for(name, options["yard_file"])
    value = float("nan") if reading is None else reading
    told = interpret(
        value,
        _setting(options, bare),
        species=None if wood is None else wood.species,
    )
    steps, verdict = correction_steps(told, system), verdict_words(told)
    if wood is not None and wood.note:
        steps = (name_note(wood), *steps)
    valid, headline = told.valid, _("The reading says: {verdict}", verdict=verdict)
    if told.corrected is not None:
        headline = likeliest_words(told)
    other = options["second"]
    if other is not None and told.corrected is None:
        steps = (
            *steps,
            _("The other meter's {mc:g} % has no number to stand beside.", mc=other),
        )
    elif other is not None and told.corrected is not None:
        agree = meters_agree(told.corrected, other)
        steps = (*steps, *two_meters(told.corrected, other, agree))
        if not agree:
            valid = False
            headline = _(
                "The two meters disagree: {mc:.0f} % (corrected) and {other:g} %. "
                "Neither is to be believed yet; below is what to look at",
                mc=told.corrected,
                other=other,
            )
    return Said(
        result_of(
            told.reading,
            told.corrected,
            steps,
            valid,
            verdict,
            low=told.low,
            high=told.high,
        ),
        f"{headline}.",
        steps,
    )
