"""`emcforecast compare`: a logger beside the weather, month by month."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, group, pictures
from emcforecast.cli.calibrate import logger_options, read_logger_for
from emcforecast.cli.options import output_options, plot_options, weather_options
from emcforecast.report.answer import Answer
from emcforecast.report.words import is_narrow, wrapped

if TYPE_CHECKING:
    from emcforecast.storage.compare import Comparison, MonthDifference
    from emcforecast.units import UnitSystem


@click.command(
    "compare",
    cls=group.Command,
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
    way = "late" if found.shift.hours > 0 else "early"
    return (
        f"The logger's days run about {abs(found.shift.hours)} h too {way} against the "
        f"weather: outdoors its clock is off, under a roof the place may lag.",
    )


def _text(found: "Comparison", system: str) -> str:
    whole = found.whole
    degree = 1.8 if system == "us" else 1.0
    unit = "°F" if system == "us" else "°C"
    drier, lower = ("drier", "lower") if whole.emc < 0 else ("damper", "higher")
    warmer = "cooler" if whole.temperature < 0 else "warmer"
    first = (
        f"The logger's air is {abs(whole.temperature) * degree:.1f} {unit} {warmer} "
        f"than the weather's, and {drier}: wood in it would settle about "
        f"{abs(whole.emc):.1f} % MC {lower}. Over {whole.hours} hours."
    )
    if is_narrow():
        told = [*((m.label, m) for m in found.months), ("all", whole)]
        return "\n".join(
            [
                wrapped(first),
                "",
                "logger less weather",
                *(_tall(label, month, degree, unit) for label, month in told),
            ]
        )
    lines = [
        wrapped(first),
        "",
        f"{'logger less weather':19}{'hours':>6}{'temperature':>13}{'humidity':>12}"
        f"{'vapour':>11}{'EMC':>9}",
    ]
    lines += [_line(month.label, month, degree, unit) for month in (*found.months,)]
    lines.append(_line("all", whole, degree, unit))
    return "\n".join(lines)


def _tall(label: str, d: "MonthDifference", degree: float, unit: str) -> str:
    """Lay one month out for a phone."""
    return (
        f"{label}, {d.hours} hours\n"
        f"  {d.temperature * degree:+.1f} {unit}, {d.relative_humidity:+.0f} % RH\n"
        f"  {d.vapour_pressure:+.1f} hPa, EMC {d.emc:+.1f} %"
    )


def _line(label: str, d: "MonthDifference", degree: float, unit: str) -> str:
    return (
        f"{label:19}{d.hours:>6}{d.temperature * degree:>+10.1f} {unit:<2}"
        f"{d.relative_humidity:>+7.0f} % RH{d.vapour_pressure:>+7.1f} hPa"
        f"{d.emc:>+7.1f} %"
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
