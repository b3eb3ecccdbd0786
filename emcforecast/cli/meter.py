"""`emcforecast meter`: what a moisture reading means, step by step."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cautions import cautions
from emcforecast.cli import common
from emcforecast.cli.lines import wrapped
from emcforecast.errors import InputError

if TYPE_CHECKING:
    from emcforecast.units import UnitSystem
    from emcforecast.wood.meter import MeterSetting

how_read = common.stacked(
    click.option(
        "--kind",
        type=click.Choice(["pin", "pinless"]),
        default="pin",
        show_default=True,
        help="Resistance between pins, or dielectric through the face.",
    ),
    click.option("--wood-temp", default=None, help="Of the wood itself: 30F, -1C."),
    click.option(
        "--calibrated",
        default="70F",
        show_default=True,
        help="Wood temperature the meter is made for.",
    ),
    click.option(
        "--compensated", is_flag=True, help="The meter corrects for temperature itself."
    ),
    click.option(
        "--rule",
        type=click.Choice(["handbook", "full"]),
        default="handbook",
        show_default=True,
        help="0.5 % MC for 10 °F, or the fuller published equation.",
    ),
    click.option("--species", default=None, help="The wood, by any name."),
    click.option(
        "--set-gravity",
        type=float,
        default=None,
        help="Specific gravity a pinless meter was set to.",
    ),
    click.option("--depth", default=None, help="How deep the pins went: 1/4 in, 8mm."),
    click.option("--thickness", default=None, help="Of the board: 8/4, 54mm."),
    click.option(
        "--insulated", is_flag=True, help="Only the tips of the pins touch the wood."
    ),
    click.option(
        "--face",
        type=click.Choice(["planed", "rough", "end"]),
        default=None,
        help="Where it was read.",
    ),
)

other_ways = common.stacked(
    click.option("--shell", type=float, default=None, help="Reading near the face, %."),
    click.option("--core", type=float, default=None, help="Reading in the middle, %."),
    click.option(
        "--target", default=None, help="Moisture wanted with --shell and --core: 7:9."
    ),
    click.option(
        "--second", type=float, default=None, help="Another meter's reading, %."
    ),
    click.option(
        "--oven",
        nargs=2,
        default=None,
        metavar="WET DRY",
        help="Weights of a piece before and after the oven: 136g 100g.",
    ),
    click.option(
        "--sample",
        nargs=3,
        default=None,
        metavar="FIRST MC NOW",
        help="A sample board: its first weight, its % MC then, its weight now.",
    ),
)


@dataclass(frozen=True)
class _Said:
    """What one way of asking answers."""

    result: Mapping[str, Any]
    headline: str
    steps: tuple[str, ...]


@click.command("meter", short_help="What a moisture reading means.")
@click.argument("reading", type=float, required=False)
@how_read
@other_ways
@common.output_options
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
    system = common.units_or_default(units)
    ways: dict[str, Callable[[], _Said]] = {
        "--oven": lambda: _oven(options["oven"], system),
        "--sample": lambda: _sample(options["sample"], system),
        "--shell and --core": lambda: _pair(options),
        "READING": lambda: _reading(reading, options, system),
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
        raise InputError(
            f"give one of {', '.join(ways)}"
            f"{f'; you gave {len(asked)}' if asked else ''}. For example: emcforecast "
            f"meter 12 --wood-temp 30F"
        )
    said = ways[asked[0]]()
    common.give(
        common.Answer(
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
            cautions=cautions(["structural"]),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _result(
    reading: float | None,
    corrected: float | None,
    steps: tuple[str, ...],
    valid: bool,
    verdict: str,
    **more: Any,
) -> dict[str, Any]:
    return {
        "reading": reading,
        "corrected": corrected,
        "steps": list(steps),
        "valid": valid,
        "verdict": verdict,
        **more,
    }


def _setting(options: Mapping[str, Any], system: "UnitSystem") -> "MeterSetting":
    from emcforecast.units import parse_length, parse_temperature, parse_thickness
    from emcforecast.wood.meter import FACES, METER_KINDS, RULES, MeterSetting

    temperature, depth, thickness = (
        options[name] for name in ("wood_temp", "depth", "thickness")
    )
    return MeterSetting(
        kind=next(kind for kind in METER_KINDS if kind == options["kind"]),
        wood_temperature=(
            None if temperature is None else parse_temperature(temperature, system)
        ),
        calibrated_at=parse_temperature(options["calibrated"], system),
        compensated=options["compensated"],
        rule=next(rule for rule in RULES if rule == options["rule"]),
        set_gravity=options["set_gravity"],
        pin_depth_mm=None if depth is None else parse_length(depth, system),
        thickness_mm=None
        if thickness is None
        else parse_thickness(thickness).actual_mm,
        insulated=options["insulated"],
        face=next((face for face in FACES if face == options["face"]), None),
    )


def _reading(
    reading: float | None, options: Mapping[str, Any], system: "UnitSystem"
) -> _Said:
    from emcforecast.wood.judge import compare_meters
    from emcforecast.wood.meter import interpret
    from emcforecast.wood.species import resolve_species

    name = options["species"]
    wood = None if name is None else resolve_species(name)
    value = float("nan") if reading is None else reading
    told = interpret(
        value,
        _setting(options, system),
        species=None if wood is None else wood.species,
        system=system,
    )
    steps = told.steps
    if wood is not None and wood.note:
        steps = (f"{wood.note}.", *steps)
    aside = ""
    if options["second"] is not None and told.corrected is not None:
        agree, advice = compare_meters(told.corrected, options["second"])
        steps = (*steps, *advice)
        aside = "" if agree else "; the other meter disagrees"
    headline = f"The wood is at {told.verdict}"
    if told.corrected is not None:
        headline += (
            f" of ovendry mass (between {told.low:.0f} and {told.high:.0f}, two times "
            f"in three){aside}"
        )
    else:
        headline = f"The reading says: {told.verdict}"
    return _Said(
        _result(
            told.reading,
            told.corrected,
            steps,
            told.valid,
            told.verdict,
            low=told.low,
            high=told.high,
        ),
        f"{headline}.",
        steps,
    )


def _pair(options: Mapping[str, Any]) -> _Said:
    from emcforecast.wood.judge import judge_pair

    shell, core = options["shell"], options["core"]
    if shell is None or core is None:
        raise InputError(
            "a pair needs both --shell and --core. Give the other one too."
        )
    found = judge_pair(shell, core, _target(options["target"]))
    steps = (
        f"Shell {shell:g} %, core {core:g} %: about {found.mean:.1f} % in the mean.",
        found.why,
    )
    return _Said(
        _result(
            None,
            found.mean,
            steps,
            True,
            found.verdict,
            shell=shell,
            core=core,
            ready=found.ready,
        ),
        f"{found.verdict[:1].upper()}{found.verdict[1:]}.",
        steps,
    )


def _target(text: str | None) -> tuple[float, float] | None:
    """Read "7:9", "7-9" or "8" (one either side) as a range of % MC."""
    if text is None:
        return None
    parts = text.replace("%", "").replace("-", ":").split(":")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) == 1:
        numbers = [numbers[0] - 1.0, numbers[0] + 1.0]
    if len(numbers) != 2 or not 0.0 <= numbers[0] <= numbers[1] <= 100.0:
        raise InputError(
            f"target {text!r} cannot be read. Write the lowest and highest % MC: 7:9."
        )
    return numbers[0], numbers[1]


def _oven(weights: tuple[str, str], system: "UnitSystem") -> _Said:
    from emcforecast.units import parse_mass
    from emcforecast.wood.sample_board import oven_dry_moisture, wet_basis

    wet, dry = (parse_mass(weight, system) for weight in weights)
    moisture = oven_dry_moisture(wet, dry)
    steps = (
        f"Wet {weights[0]}, ovendry {weights[1]}: the water is {moisture:.1f} % of the "
        f"ovendry mass.",
        f"On the wet basis, of the whole weight, it would be {wet_basis(moisture):.1f} "
        f"%: not what meters and this program mean.",
    )
    return _Said(
        _result(None, moisture, steps, True, f"{moisture:.1f} %"),
        f"The piece held {moisture:.1f} % of ovendry mass.",
        steps,
    )


def _sample(given: tuple[str, str, str], system: "UnitSystem") -> _Said:
    from emcforecast.units import format_mass, parse_mass
    from emcforecast.wood.sample_board import (
        oven_dry_weight,
        sample_board_moisture,
        weight_at_moisture,
    )

    first, now = parse_mass(given[0], system), parse_mass(given[2], system)
    try:
        start = float(given[1].replace("%", ""))
    except ValueError as error:
        raise InputError(
            f"moisture {given[1]!r} is not a number. Write --sample 4.46lb 62.2 4.14lb"
        ) from error
    dry = oven_dry_weight(first, start)
    moisture = sample_board_moisture(now, dry)
    steps = (
        f"{given[0]} at {start:g} % MC would weigh {format_mass(dry, system)} ovendry.",
        f"Now {given[2]}: {moisture:.1f} % of ovendry mass.",
        f"It will weigh {format_mass(weight_at_moisture(dry, 20.0), system)} at 20 % "
        f"and {format_mass(weight_at_moisture(dry, 15.0), system)} at 15 %.",
    )
    return _Said(
        _result(None, moisture, steps, True, f"{moisture:.1f} %", ovendry_kg=dry),
        f"The sample board is at {moisture:.1f} % of ovendry mass.",
        steps,
    )
