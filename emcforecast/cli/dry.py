"""`emcforecast dry`: when a stack reaches 30, 20 and the target moisture."""

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    output_options,
    plot_options,
    size_options,
    weather_options,
    yard_option,
)
from emcforecast.cli.progress import Progress
from emcforecast.cli.values import NUMBER
from emcforecast.dates import day_given
from emcforecast.errors import InputError
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.ensemble.evidence import Reading
    from emcforecast.ensemble.route import Cut


@click.command(
    "dry",
    cls=Command,
    short_help="When a stack reaches 30, 20 and your target.",
)
@weather_options
@click.option(
    "--species",
    "woods",
    default=("European larch",),
    show_default=True,
    multiple=True,
    metavar="WOOD",
    help="Repeatable, in a mixed stack.",
)
@yard_option
@click.option(
    "--thickness",
    "thicknesses",
    default=("27 mm",),
    show_default=True,
    multiple=True,
    metavar="SIZE",
    help="27mm, '1 1/8 in'; the slowest counts.",
)
@size_options
@click.option("--stacked", metavar="DATE", help="Such as 2026-04-01. [default: today]")
@click.option(
    "--from-mc",
    type=NUMBER,
    metavar="MC",
    help="Moisture when stacked, %. [default: green]",
)
@click.option(
    "--setting",
    default="outdoor",
    show_default=True,
    metavar="PLACE",
    help="shed, outdoor=stack-roof, shed=loft.",
)
@click.option(
    "--target",
    type=NUMBER,
    metavar="MC",
    default=15.0,
    show_default=True,
    help="The moisture to reach, %.",
)
@click.option(
    "--move",
    "moves",
    multiple=True,
    metavar="DATE=PLACE",
    help="Goes elsewhere: 2026-08-24=loft; repeatable.",
)
@click.option(
    "--resaw",
    "resaws",
    multiple=True,
    metavar="DATE=SIZE",
    help="Resawn along the middle to this thickness.",
)
@click.option(
    "--plane",
    "planes",
    multiple=True,
    metavar="DATE=SIZE",
    help="Planed on both faces to this thickness.",
)
@click.option(
    "--reading",
    "readings",
    multiple=True,
    metavar="DATE=MC",
    help="A corrected reading: 2026-06-10=24 or 24,core.",
)
@click.option(
    "--today",
    metavar="DATE",
    help="Take the weather as it was only up to then.",
)
@click.option("--risks", is_flag=True, help="Print every risk and its numbers too.")
@click.option("--more", is_flag=True, help="Print what else is known.")
@output_options
@plot_options
def command(
    weather: str,
    woods: tuple[str, ...],
    yard_file: Path | None,
    thicknesses: tuple[str, ...],
    width: str | None,
    length: str | None,
    sealed_ends: bool,
    stacked: str | None,
    from_mc: float | None,
    setting: str,
    target: float,
    moves: tuple[str, ...],
    resaws: tuple[str, ...],
    planes: tuple[str, ...],
    readings: tuple[str, ...],
    today: str | None,
    risks: bool,
    more: bool,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Forecast when a stack reaches 30 %, 20 % and the target, shell and core."""
    from emcforecast.answers.dry import dry_answer

    cuts = [_cut("resaw", text) for text in resaws]
    cuts += [_cut("plane", text) for text in planes]
    route = [_pair("--move", text, "2026-08-24=loft") for text in moves]
    heard = [_reading(text) for text in readings]
    found = [common.wood_for(name, yard_file) for name in dict.fromkeys(woods)]
    progress = Progress(_("reading the weather"))
    series = common.read_weather_for(weather, options)
    wide, long = common.sizes_given(width, length, units)
    answered = dry_answer(
        series,
        found,
        thicknesses,
        None if stacked is None else day_given("--stacked", stacked),
        setting,
        target,
        width_mm=wide,
        length_mm=long,
        sealed_ends=sealed_ends,
        from_mc=from_mc,
        moves=route,
        cuts=cuts,
        readings=heard,
        today=None if today is None else day_given("--today", today),
        system=common.units_or_default(units),
        inputs={
            "weather": weather,
            "species": woods[0] if len(woods) == 1 else list(woods),
            "thickness": list(thicknesses),
            "width": width,
            "length": length,
            "sealed_ends": sealed_ends,
            "stacked": stacked,
            "from_mc": from_mc,
            "setting": setting,
            "target": target,
            "moves": list(moves),
            "resaw": list(resaws),
            "plane": list(planes),
            "readings": list(readings),
        },
        risks=risks,
        more=more,
        progress=progress,
    )
    common.give(
        answered.answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=pictures.drawing(answered, options),
    )


def _pair(option: str, text: str, example: str) -> tuple[str, str]:
    when, equals, what = (part.strip() for part in text.partition("="))
    if not (when and equals and what):
        raise InputError(
            _(
                "{option} {text!r}: write DATE=VALUE, such as {example}",
                option=option,
                text=text,
                example=example,
            )
        )
    return when, what


def _reading(text: str) -> "Reading":
    """Read DATE=MC, DATE=over or DATE=MC,core as a reading of the stack."""
    from emcforecast.ensemble.calendar import as_day
    from emcforecast.ensemble.evidence import Reading

    when, what = _pair("--reading", text, "2026-06-10=24")
    number, _comma, part = (word.strip().lower() for word in what.partition(","))
    try:
        content = None if number == "over" else float(number.rstrip("% "))
    except ValueError:
        raise InputError(
            _(
                "--reading {text!r}: {number!r} is no % MC; write "
                "2026-06-10=24, or 2026-06-10=over where the meter showed no "
                "number",
                text=text,
                number=number,
            )
        ) from None
    if part not in ("", "mean", "core", "shell"):
        raise InputError(
            _(
                "--reading {text!r}: part {part!r} is not known; say core or "
                "shell, or nothing for the average",
                text=text,
                part=part,
            )
        )
    day = as_day(day_given("--reading", when))
    return Reading(
        day,
        content,
        "core" if part == "core" else "shell" if part == "shell" else "mean",
    )


def _cut(how: Literal["resaw", "plane"], text: str) -> "Cut":
    from emcforecast.ensemble.calendar import as_day
    from emcforecast.ensemble.route import Cut
    from emcforecast.thickness import parse_thickness

    when, what = _pair(
        f"--{how}", text, f"2026-03-01={'4/4' if how == 'resaw' else '24mm'}"
    )
    day = as_day(day_given(f"--{how}", when))
    return Cut(day, parse_thickness(what).actual_mm, how)
