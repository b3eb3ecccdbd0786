"""`emcforecast calibrate`: tune a setting with a temperature-humidity logger."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, sections
from emcforecast.cli.lines import wrapped
from emcforecast.report.screen import is_narrow

if TYPE_CHECKING:
    from emcforecast.report.cautions import About, caution_words, find_cautions
    from emcforecast.storage.calibrate import Calibration


logger_options = common.stacked(
    click.argument("logger", metavar="LOGGER", type=click.Path(path_type=Path)),
    click.option(
        "--logger-utc-offset",
        type=click.FloatRange(-14, 14),
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
        type=click.Choice(["C", "F", "K"], case_sensitive=False),
        help="The unit of the logger's temperatures.",
    ),
)


def read_logger_for(logger: Path, options: dict[str, Any]) -> Any:
    """Read the LOGGER argument, taking its own hints out of the options."""
    from emcforecast.weather.read import read_logger

    names = ("utc_offset", "day_first", "temperature_unit")
    given = {name: options.pop(f"logger_{name}") for name in names}
    return read_logger(logger, **{k: v for k, v in given.items() if v is not None})


@click.command(
    "calibrate", cls=sections.Command, short_help="Tune a setting with a logger."
)
@logger_options
@common.weather_options
@click.option(
    "--setting",
    default="shed",
    show_default=True,
    metavar="NAME[=KIND][,parameter=value]",
    help="What the place is taken to be so far.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    callback=common.writable,
    help="Write the calibration here; --setting shed=FILE reads it back.",
)
@click.option(
    "--salt-test",
    type=click.FloatRange(40.0, 100.0),
    metavar="RH",
    help="What the logger read over wet table salt at room temperature, % RH (75.4).",
)
@click.option(
    "--shift-hours",
    type=click.IntRange(-36, 36),
    metavar="HOURS",
    default=0,
    help="How many hours too late the logger's clock runs.",
)
@common.output_options
def command(
    logger: Path,
    weather: str,
    setting: str,
    output: Path | None,
    salt_test: float | None,
    shift_hours: int,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Tune a setting to what a logger read there over some weeks.

    At most three numbers of the place are tuned, chosen by how they do on days held
    out; a tuning that does no better there than the setting as stated is not used.
    """
    from emcforecast.errors import InputError
    from emcforecast.storage.calibrate import SALT_HUMIDITY, calibrate

    read = read_logger_for(logger, options)
    series = common.read_weather_for(weather, options)
    offset = 0.0 if salt_test is None else salt_test - SALT_HUMIDITY
    found = calibrate(
        read, series, setting, humidity_offset=offset, shift_hours=shift_hours
    )
    if output is not None:
        try:
            found.write(output)
        except OSError as error:
            raise InputError(
                f"{output}: cannot be written ({error.strerror}); name another file"
            ) from error
    cautions = find_cautions(About.LOG, kinds=[found.setting.kind])
    common.give(
        common.Answer(
            "calibrate",
            {
                "logger": str(logger),
                "weather": weather,
                "setting": setting,
                "humidity_offset": offset,
                "shift_hours": shift_hours,
            },
            found.as_json(),
            _text(found, output, common.units_or_default(units)),
            _rows(found),
            series,
            warnings=found.notes,
            cautions=caution_words(cautions),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _text(found: "Calibration", output: Path | None, system: str) -> str:
    from emcforecast.storage.parameters import PARAMETERS

    stated = {**found.setting.about.defaults}
    if found.used:
        first = (
            f"Tuned to {found.days} days, {found.start} to {found.end}: on days it "
            f"had not seen, the error in EMC goes from "
            f"{found.held_out_before.rmse_emc:.1f} to {found.held_out.rmse_emc:.1f} "
            f"% MC."
        )
    else:
        first = (
            f"{found.days} days, {found.start} to {found.end}: the setting is left as "
            f"stated, which no tuning betters on days it has not seen (error in EMC "
            f"{found.held_out_before.rmse_emc:.1f} % MC)."
        )
    lines = [wrapped(first), ""]
    for name, value in found.levers.items():
        parameter = PARAMETERS[name]
        low, high = found.setting.likely[name]
        lines += [
            wrapped(
                f"{name:18}{value:8.3g} {parameter.unit:14} likely {low:.3g} to "
                f"{high:.3g}, usual {stated[name]:g}",
                rest="    ",
            ),
            wrapped(parameter.meaning, first="    ", rest="    "),
        ]
    lines += [
        *([""] if found.levers else []),
        "error of daily means"
        if is_narrow()
        else f"{'error of daily means':26}{'temperature':>12}{'EMC':>10}",
    ]
    degree, unit = (1.8, "°F") if system == "us" else (1.0, "°C")
    for label, errors in (
        ("as stated", found.before),
        ("tuned", found.after),
        ("as stated, days held out", found.held_out_before),
        ("tuned, days held out", found.held_out),
    ):
        if is_narrow():
            lines += [
                label,
                f"  {errors.rmse_t * degree:.1f} {unit}, EMC {errors.rmse_emc:.1f} %",
            ]
            continue
        lines.append(
            f"{label:26}{errors.rmse_t * degree:>9.1f} {unit}{errors.rmse_emc:>8.1f} %"
        )
    if found.used:
        written = output if output is not None else "FILE (say -o FILE)"
        lines += ["", wrapped(f"Use it: --setting {found.setting.name}={written}")]
    return "\n".join(line.rstrip() for line in lines)


def _rows(found: "Calibration") -> list[dict[str, Any]]:
    """Return the tuned numbers, if any, and the errors with and without them."""
    from emcforecast.storage.parameters import PARAMETERS

    rows = [
        _row(name, value, PARAMETERS[name].unit, found.setting.likely[name])
        for name, value in found.levers.items()
    ]
    for label, errors in (
        ("as stated", found.before),
        ("tuned", found.after),
        ("as stated, days held out", found.held_out_before),
        ("tuned, days held out", found.held_out),
    ):
        rows += [
            _row(f"error of temperature, {label}", errors.rmse_t, "K"),
            _row(f"error of EMC, {label}", errors.rmse_emc, "% MC"),
        ]
    return rows


def _row(
    what: str,
    value: float,
    unit: str,
    likely: "tuple[float | None, float | None]" = (None, None),
) -> dict[str, Any]:
    return {
        "what": what,
        "value": value,
        "unit": unit,
        "likely_low": likely[0],
        "likely_high": likely[1],
    }
