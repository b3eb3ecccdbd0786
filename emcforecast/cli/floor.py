"""`emcforecast floor`: the lowest moisture in each place by month."""

from pathlib import Path
from typing import Any

import click

from emcforecast import bounds
from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    board_options,
    output_options,
    plot_options,
    settings_option,
    weather_options,
)
from emcforecast.cli.progress import Progress
from emcforecast.cli.values import NumberRange
from emcforecast.language import _


@click.command(
    "floor",
    cls=Command,
    short_help="The lowest moisture in each place, by month.",
)
@weather_options
@board_options
@settings_option
@click.option(
    "--target",
    "targets",
    type=NumberRange(*bounds.TARGET),
    metavar="MC",
    multiple=True,
    help="To judge the places by, %; repeatable. [furniture, 7 to 9]",
)
@click.option("--months", is_flag=True, help="Print the lowest of every month too.")
@click.option("--air", is_flag=True, help="Print the air and EMC of every month too.")
@output_options
@plot_options
def command(
    weather: str,
    species: str,
    yard_file: Path | None,
    thickness: str,
    settings: tuple[str, ...],
    targets: tuple[float, ...],
    months: bool,
    air: bool,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Show the lowest moisture wood can reach in each place, month by month.

    Several --setting of one name (shed=loft, shed=barn) stand side by side.
    """
    from emcforecast.answers.floor import floor_answer
    from emcforecast.forecast.targets import target_of_number
    from emcforecast.storage.setting_text import parse_setting

    wood = common.wood_for(species, yard_file)
    progress = Progress(_("reading the weather"))
    series = common.read_weather_for(weather, options)
    answered = floor_answer(
        series,
        wood,
        thickness,
        [parse_setting(text) for text in settings],
        [target_of_number(value) for value in dict.fromkeys(targets)],
        system=common.units_or_default(units),
        inputs={
            "weather": weather,
            "species": species,
            "thickness": thickness,
            "settings": list(settings),
            "targets": list(targets),
        },
        months=months,
        air=air,
        progress=progress,
    )
    common.give(
        answered.answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=pictures.drawing(answered, options),
    )
