"""`emcforecast floor`: the lowest moisture in each place by month."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast import bounds
from emcforecast.cli import common, group, pictures
from emcforecast.cli.options import (
    board_options,
    output_options,
    plot_options,
    settings_option,
    weather_options,
)
from emcforecast.cli.progress import Progress
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.forecast.floor_result import Floor
    from emcforecast.forecast.targets import Target
    from emcforecast.units import UnitSystem


@click.command(
    "floor",
    cls=group.Command,
    short_help="The lowest moisture in each place, by month.",
)
@weather_options
@board_options
@settings_option
@click.option(
    "--target",
    "targets",
    type=group.NumberRange(*bounds.TARGET),
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
    from emcforecast.forecast.floor import floor
    from emcforecast.forecast.targets import target_for_use, target_of_number
    from emcforecast.report.floor import (
        floor_cautions,
        floor_result,
        floor_rows,
        floor_text,
    )
    from emcforecast.report.floor_sentences import floor_sentences
    from emcforecast.report.storage import fallback_words
    from emcforecast.report.weather import based_on
    from emcforecast.storage.setting_text import parse_setting

    wood = common.wood_for(species, yard_file)
    progress = Progress("reading weather")
    series = common.read_weather_for(weather, options)
    chosen = [parse_setting(text) for text in settings]
    answer = floor(series, wood.species, thickness, chosen, progress=progress)
    system = common.units_or_default(units)
    wanted = [target_of_number(value) for value in dict.fromkeys(targets)]
    wanted = wanted or [target_for_use("furniture")]
    sentences = floor_sentences(answer, wanted, system)
    fallbacks = fallback_words(
        dict.fromkeys(f for s in answer.settings.values() for f in s.fallbacks)
    )
    common.give(
        Answer(
            "floor",
            {
                "weather": weather,
                "species": species,
                "thickness": thickness,
                "settings": list(settings),
                "targets": list(targets),
            },
            floor_result(answer, sentences),
            floor_text(
                answer, wanted, based_on(series), system, months=months, air=air
            ),
            floor_rows(answer),
            series,
            warnings=[*filter(None, [wood.note]), *fallbacks],
            cautions=floor_cautions(answer),
        ),
        as_json=as_json,
        csv_file=csv_file,
        picture=None
        if options["plot_file"] is None
        else lambda: _draw(answer, series, wanted, system, options),
    )


def _draw(
    answer: "Floor",
    series: "xr.Dataset",
    targets: "list[Target]",
    system: "UnitSystem",
    options: dict[str, Any],
) -> None:
    from emcforecast.charts.floor import floor_figure
    from emcforecast.storage.kinds import KINDS

    kinds = [s.kind for s in answer.settings.values()]
    figure = floor_figure(
        answer,
        {
            name: KINDS[s.kind].title if kinds.count(s.kind) == 1 else name
            for name, s in answer.settings.items()
        },
        targets=targets,
        system=system,
        source=pictures.source_line(series),
        look=pictures.look(options),
        narrow=options["narrow"],
    )
    pictures.save_figure(figure, options["plot_file"])
