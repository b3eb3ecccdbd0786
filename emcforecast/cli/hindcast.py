"""`emcforecast hindcast`: how good such forecasts would have been."""

from pathlib import Path
from typing import Any

import click

from emcforecast import bounds
from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    output_options,
    plot_options,
    weather_options,
    yard_option,
)
from emcforecast.cli.progress import Progress
from emcforecast.cli.values import NumberRange
from emcforecast.language import _


@click.command(
    "hindcast",
    cls=Command,
    short_help="How good such forecasts would have been.",
)
@weather_options
@click.option(
    "--species",
    help="The wood. [default: European larch and ash 27 mm, oak 54 mm]",
)
@yard_option
@click.option("--thickness", help="As sawn: 27, 27mm, 4/4. [default: 27 mm]")
@click.option(
    "--setting",
    "settings",
    multiple=True,
    metavar="PLACE",
    help="Where the stacks are; may be repeated. [default: outdoor, shed, indoor]",
)
@click.option(
    "--target",
    type=NumberRange(*bounds.TARGET),
    metavar="MC",
    default=15.0,
    show_default=True,
    help="The moisture whose date is scored, %.",
)
@output_options
@plot_options
def command(
    weather: str,
    species: str | None,
    yard_file: Path | None,
    thickness: str | None,
    settings: tuple[str, ...],
    target: float,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Leave out each weather year in turn and forecast it from the others.

    WEATHER is a file, several of one place, an archive and place, or demo; two whole
    years at least.
    """
    from emcforecast.answers.hindcast import PLACES, hindcast_answer

    wood = None
    if species is not None or thickness is not None:
        wood = common.wood_for(species or "European larch", yard_file)
    progress = Progress(_("reading the weather"))
    series = common.read_weather_for(weather, options)
    answered = hindcast_answer(
        series,
        wood,
        thickness or "27 mm",
        tuple(dict.fromkeys(settings)) or PLACES,
        target,
        inputs={
            "weather": weather,
            "woods": None,
            "settings": list(settings or PLACES),
            "target": target,
        },
        progress=progress,
    )
    common.give(
        answered.answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=pictures.drawing(answered, options),
    )
