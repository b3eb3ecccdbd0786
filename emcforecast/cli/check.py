"""`emcforecast check`: what a weather file holds."""

from pathlib import Path
from typing import Any

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options, weather_options
from emcforecast.errors import WeatherError
from emcforecast.report.answer import Answer


@click.command(
    "check",
    cls=Command,
    short_help="What a weather file holds, or why not.",
)
@weather_options
@output_options
def command(
    weather: str,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Say what WEATHER holds, each repair, or why it is refused and what to do.

    WEATHER is a file, a folder or pattern of files of one place, files joined by +, an
    archive and place, or demo.
    """
    from emcforecast.report.check import check_result, check_rows, check_text
    from emcforecast.weather.check import inspect

    hints = common.reading_hints(options)
    found = inspect(weather, progress=common.asking(), **hints)
    if found.ok or as_json:
        common.give(
            Answer(
                "check",
                {"weather": weather, **hints},
                check_result(found),
                check_text(
                    found,
                    weather,
                    common.units_or_default(units),
                    optioned=bool(hints),
                )
                if found.ok
                else "",
                check_rows(found),
                # The text opens with it.
                warnings=[found.short] if found.short and as_json else [],
            ),
            as_json=as_json,
            csv_file=csv_file,
        )
    if not found.ok:
        raise WeatherError(str(found.refused))
