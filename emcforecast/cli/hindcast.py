"""`emcforecast hindcast`: how good such forecasts would have been."""

from pathlib import Path
from typing import Any

import click

from emcforecast import bounds
from emcforecast.cli import common, group, pictures
from emcforecast.cli.options import (
    output_options,
    plot_options,
    weather_options,
    yard_option,
)
from emcforecast.cli.progress import Progress
from emcforecast.report.answer import Answer


@click.command(
    "hindcast",
    cls=group.Command,
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
    type=group.NumberRange(*bounds.TARGET),
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
    from emcforecast.cautions import Caution
    from emcforecast.forecast.hindcast import WOODS, hindcast
    from emcforecast.report import hindcast as words
    from emcforecast.report.cautions import caution_words
    from emcforecast.report.weather import based_on
    from emcforecast.wood.species import Species

    woods: list[tuple[str | Species, float | str]] = list(WOODS)
    note = ""
    if species is not None or thickness is not None:
        found = common.wood_for(species or "European larch", yard_file)
        woods, note = [(found.species, thickness or "27 mm")], found.note
    progress = Progress("reading weather")
    series = common.read_weather_for(weather, options)
    answer = hindcast(
        series,
        woods,
        tuple(dict.fromkeys(settings)) or ("outdoor", "shed", "indoor"),
        target=target,
        progress=progress,
    )
    sentences = words.hindcast_sentences(answer)
    common.give(
        Answer(
            "hindcast",
            {
                "weather": weather,
                "woods": [
                    {"species": s if isinstance(s, str) else s.name, "thickness": t}
                    for s, t in woods
                ],
                "settings": list(settings) or ["outdoor", "shed", "indoor"],
                "target": target,
            },
            words.hindcast_result(answer, sentences),
            words.hindcast_text(answer, sentences, based_on(series)),
            words.hindcast_rows(answer),
            series,
            warnings=[note] if note else [],
            cautions=caution_words([Caution.METER]),
        ),
        as_json=as_json,
        csv_file=csv_file,
        picture=None
        if options["plot_file"] is None
        else lambda: _draw(answer, series, options),
    )


def _draw(answer: Any, series: Any, options: Any) -> None:
    from emcforecast.charts.hindcast import hindcast_figure

    figure = hindcast_figure(
        answer,
        source=pictures.source_line(series),
        look=pictures.look(options),
        narrow=options["narrow"],
    )
    pictures.save_figure(figure, options["plot_file"])
