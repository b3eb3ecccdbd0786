"""`emcforecast calibrate`: tune a setting with a temperature-humidity logger."""

from pathlib import Path
from typing import Any

import click

from emcforecast import bounds
from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options, stacked, weather_options, writable
from emcforecast.cli.values import FilePath, NumberRange, OneOf, WholeRange
from emcforecast.language import _
from emcforecast.report.answer import Answer

logger_options = stacked(
    click.argument("logger", metavar="LOGGER", type=click.Path(path_type=Path)),
    click.option(
        "--logger-utc-offset",
        type=NumberRange(*bounds.PLACE["utc_offset"]),
        metavar="HOURS",
        help="Hours the logger's clock is ahead of UTC.",
    ),
    click.option(
        "--logger-day-first/--logger-month-first",
        "logger_day_first",
        default=None,
        help="How the logger writes 4/5: day 4 of May, or month 4, day 5.",
    ),
    click.option(
        "--logger-temperature-unit",
        type=OneOf(["C", "F", "K"], case_sensitive=False),
        help="The unit of the logger's temperatures.",
    ),
)


def read_logger_for(logger: Path, options: dict[str, Any]) -> Any:
    """Read the LOGGER argument, taking its own hints out of the options."""
    from emcforecast.weather.read import read_logger

    names = ("utc_offset", "day_first", "temperature_unit")
    given = {name: options.pop(f"logger_{name}") for name in names}
    return read_logger(logger, **{k: v for k, v in given.items() if v is not None})


@click.command("calibrate", cls=Command, short_help="Tune a setting with a logger.")
@logger_options
@weather_options
@click.option(
    "--setting",
    default="shed",
    show_default=True,
    metavar="PLACE",
    help="What the place is assumed to be so far.",
)
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False, path_type=Path),
    callback=writable,
    help="Write the calibration here; --setting shed=FILE reads it back.",
)
@click.option(
    "--salt-test",
    type=NumberRange(40.0, 100.0),
    metavar="RH",
    help="What it read over wet table salt, % RH (75.4).",
)
@click.option(
    "--shift-hours",
    type=WholeRange(-36, 36),
    metavar="HOURS",
    help="How many hours too late the logger's clock runs; 0 says that it is right.",
)
@output_options
def command(
    logger: Path,
    weather: str,
    setting: str,
    output: Path | None,
    salt_test: float | None,
    shift_hours: int | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Tune a setting to what a logger read there over some weeks.

    At most three numbers of the place are tuned, chosen by how they do on days held
    out; a tuning that does no better there than the setting as stated is not used.
    """
    from emcforecast.cautions import Caution
    from emcforecast.errors import InputError
    from emcforecast.report.cautions import caution_words
    from emcforecast.report.storage import (
        calibration_notes,
        calibration_rows,
        calibration_text,
    )
    from emcforecast.storage.calibrate import SALT_HUMIDITY, calibrate

    read = read_logger_for(logger, options)
    series = common.read_weather_for(weather, options)
    offset = 0.0 if salt_test is None else salt_test - SALT_HUMIDITY
    found = calibrate(
        read, series, setting, humidity_offset=offset, shift_hours=shift_hours
    )
    notes = calibration_notes(found)
    if output is not None:
        try:
            found.write(output, notes)
        except OSError as error:
            raise InputError(
                _(
                    "{output}: cannot be written ({reason}); name another file",
                    output=output,
                    reason=error.strerror,
                )
            ) from error
    common.give(
        Answer(
            "calibrate",
            {
                "logger": str(logger),
                "weather": weather,
                "setting": setting,
                "humidity_offset": offset,
                "shift_hours": shift_hours or 0,
            },
            {**found.as_json(), "notes": notes},
            calibration_text(
                found,
                output,
                common.units_or_default(units),
                None if salt_test is None else offset,
            ),
            calibration_rows(found),
            series,
            warnings=notes,
            cautions=caution_words([Caution.LOGGER]),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )
