"""`emcforecast compare`: a logger beside the weather, month by month."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, pictures
from emcforecast.cli.calibrate import logger_options, read_logger_for
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options, plot_options, weather_options
from emcforecast.language import N_, _, number, p_
from emcforecast.report.answer import Answer
from emcforecast.report.words import is_narrow, wrapped

if TYPE_CHECKING:
    from emcforecast.storage.compare import Comparison, MonthDifference
    from emcforecast.units import UnitSystem


@click.command(
    "compare",
    cls=Command,
    short_help="A logger beside the weather, month by month.",
)
@logger_options
@weather_options
@output_options
@plot_options
def command(
    logger: Path,
    weather: str,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Show how a logger differs from the weather of the same hours.

    For a logger in the shade outdoors this is the archive's bias at your place.
    """
    from emcforecast.storage.compare import compare

    read = read_logger_for(logger, options)
    series = common.read_weather_for(weather, options)
    found = compare(read, series)
    warnings = _clock(found)
    result, system = found.as_json(), common.units_or_default(units)
    common.give(
        Answer(
            "compare",
            {"logger": str(logger), "weather": weather},
            result,
            _text(found, system),
            result["months"],
            series,
            warnings=warnings,
        ),
        as_json=as_json,
        csv_file=csv_file,
        picture=None
        if options["plot_file"] is None
        else lambda: _draw(found, series, system, options),
    )


def _clock(found: "Comparison") -> tuple[str, ...]:
    if not found.shift.plain:
        return ()
    return (
        _(
            N_(
                "The logger's days run about {hours} h too late against the weather: "
                "outdoors its clock is off, under a roof the place may lag."
            )
            if found.shift.hours > 0
            else N_(
                "The logger's days run about {hours} h too early against the weather: "
                "outdoors its clock is off, under a roof the place may lag."
            ),
            hours=abs(found.shift.hours),
        ),
    )


def _text(found: "Comparison", system: str) -> str:
    whole = found.whole
    degree = 1.8 if system == "us" else 1.0
    unit = "°F" if system == "us" else "°C"
    said = {
        (True, True): N_(
            "The logger's air is {temperature} cooler than the weather's, and drier: "
            "wood in it would settle about {mc:.1f} % MC lower. Over {hours} hours."
        ),
        (True, False): N_(
            "The logger's air is {temperature} cooler than the weather's, and damper: "
            "wood in it would settle about {mc:.1f} % MC higher. Over {hours} hours."
        ),
        (False, True): N_(
            "The logger's air is {temperature} warmer than the weather's, and drier: "
            "wood in it would settle about {mc:.1f} % MC lower. Over {hours} hours."
        ),
        (False, False): N_(
            "The logger's air is {temperature} warmer than the weather's, and damper: "
            "wood in it would settle about {mc:.1f} % MC higher. Over {hours} hours."
        ),
    }[whole.temperature < 0, whole.emc < 0]
    first = _(
        said,
        temperature=f"{number(abs(whole.temperature) * degree, '.1f')} {unit}",
        mc=abs(whole.emc),
        hours=whole.hours,
    )
    if is_narrow():
        told = [*((m.label, m) for m in found.months), (_("all"), whole)]
        return "\n".join(
            [
                wrapped(first),
                "",
                _("logger less weather"),
                *(_tall(label, month, degree, unit) for label, month in told),
            ]
        )
    lines = [
        wrapped(first),
        "",
        _("logger less weather").ljust(19)
        + _("hours").rjust(6)
        + _("temperature").rjust(13)
        + _("humidity").rjust(12)
        + _("vapour").rjust(11)
        + p_("narrow column", "EMC").rjust(9),
    ]
    lines += [_line(month.label, month, degree, unit) for month in (*found.months,)]
    lines.append(_line(_("all"), whole, degree, unit))
    return "\n".join(lines)


def _tall(label: str, d: "MonthDifference", degree: float, unit: str) -> str:
    """Lay one month out for a phone."""
    return _(
        "{month}, {hours} hours\n"
        "  {temperature:+.1f} {unit}, {rh:+.0f} % RH\n"
        "  {vapour:+.1f} hPa, EMC {emc:+.1f} %",
        month=label,
        hours=d.hours,
        temperature=d.temperature * degree,
        unit=unit,
        rh=d.relative_humidity,
        vapour=d.vapour_pressure,
        emc=d.emc,
    )


def _line(label: str, d: "MonthDifference", degree: float, unit: str) -> str:
    return (
        f"{label:19}{d.hours:>6}{number(d.temperature * degree, '>+10.1f')} {unit:<2}"
        f"{d.relative_humidity:>+7.0f} " + _("% RH") + ""
        f"{number(d.vapour_pressure, '>+7.1f')} hPa{number(d.emc, '>+7.1f')} %"
    )


def _draw(found: "Comparison", series: Any, system: "UnitSystem", options: Any) -> None:
    from emcforecast.charts.compare import compare_figure
    from emcforecast.report.weather import source_line

    figure = compare_figure(
        found,
        system=system,
        source=source_line(series),
        look=pictures.look(options),
        narrow=options["narrow"],
    )
    pictures.save_figure(figure, options["plot_file"])
