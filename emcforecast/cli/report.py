"""`emcforecast report`: everything of a place, or of a yard, as one page to print."""

from datetime import date
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from emcforecast import bounds
from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    is_quiet,
    language_option,
    settings_option,
    weather_options,
    writable,
    yard_option,
)
from emcforecast.cli.progress import Progress
from emcforecast.cli.spared import spare
from emcforecast.cli.terminal import say
from emcforecast.cli.values import FilePath, NumberRange, OneOf
from emcforecast.dates import day_given
from emcforecast.errors import InputError
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.answers.place import PlaceAnswers
    from emcforecast.report.answer import Answer
    from emcforecast.units import UnitSystem


def _html(
    context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    if path is not None and path.suffix.lower() not in (".html", ".htm"):
        raise InputError(
            _("{path}: a page is written to a file that ends in .html", path=path)
        )
    return writable(context, option, path)


@click.command(
    "report",
    cls=Command,
    short_help="Everything of a place or yard as one page to print.",
)
@weather_options
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False, path_type=Path),
    callback=_html,
    required=True,
    metavar="FILE",
    help="The page: place.html.",
)
@click.option(
    "--species", multiple=True, metavar="WOOD", help="Repeatable. [European larch]"
)
@yard_option
@click.option(
    "--thickness",
    "thicknesses",
    multiple=True,
    metavar="SIZE",
    help="27mm, 4/4; repeatable. [27 mm]",
)
@settings_option
@click.option("--stacked", metavar="DATE", help="Such as 2026-04-01. [today]")
@click.option("--need", metavar="DATE", help="When ready. [a year later]")
@click.option("--use", metavar="USE", help="Furniture, flooring … [furniture]")
@click.option("--region", metavar="REGION", help="Where it will live: us, europe …")
@click.option(
    "--target",
    type=NumberRange(*bounds.DRYING_TARGET),
    metavar="MC",
    default=15.0,
    show_default=True,
    help="The moisture whose date is told, %.",
)
@click.option("--hindcast", is_flag=True, help="Also try it on this weather; slow.")
@click.option("--today", metavar="DATE", help="Of a yard: take this day for today.")
@click.option("--json", "as_json", is_flag=True, help="Print its numbers as JSON.")
@click.option("--units", type=OneOf(["us", "si"]), help="Shown first: °F, in.")
@language_option
def command(
    weather: str,
    output: Path,
    as_json: bool,
    units: str | None,
    today: str | None,
    **options: Any,
) -> None:
    """Write all that is known of a place, or of a yard, as one page to print.

    WEATHER may also be a yard file: then it is a sheet for each stack; or a map that
    `emcforecast map` wrote. The page needs no network; it switches between units, and
    between boards.
    """
    from emcforecast.files import replace

    if weather.lower().endswith(".toml"):
        page, answer = _yard(weather, output, units, today, options)
    elif weather.lower().endswith((".zarr", ".nc")):
        page, answer = _map(weather, output) or _place(
            weather, output, units, today, options
        )
    else:
        page, answer = _place(weather, output, units, today, options)
    replace(output, page.encode("utf-8"))
    if as_json:
        common.give(answer, as_json=True)
    elif not is_quiet():
        say(_("Page: {file}", file=output), err=True)


def _place(
    weather: str,
    output: Path,
    units: str | None,
    today: str | None,
    options: dict[str, Any],
) -> "tuple[str, Answer]":
    drawing = _imported_beside("emcforecast.pages.place")
    from emcforecast.answers.place import Asked, place_answers
    from emcforecast.forecast.targets import target_for_use
    from emcforecast.storage.setting_text import parse_setting

    if today is not None:
        raise InputError(
            _(
                "--today is for a yard; for a place say --stacked, and "
                "--need if you like"
            )
        )
    woods = [
        common.wood_for(name, options["yard_file"])
        for name in dict.fromkeys(options["species"] or ("European larch",))
    ]
    thicknesses = dict.fromkeys(options["thicknesses"] or ("27 mm",))
    stacked = _day("--stacked", options["stacked"]) or date.today()
    progress = Progress(_("reading the weather"))
    series = common.read_weather_for(weather, options)
    asked = Asked(
        [(wood, size) for wood in woods for size in thicknesses],
        [parse_setting(text) for text in options["settings"]],
        stacked,
        target_for_use(options["use"] or "furniture", options["region"]),
        _day("--need", options["need"]),
        options["target"],
        common.units_or_default(units),
        options["region"],
        options["hindcast"],
    )
    inputs = {"weather": weather, "output": output}
    found: PlaceAnswers = place_answers(series, asked, inputs=inputs, progress=progress)
    drawing.join()
    from emcforecast.pages.place import place_page

    return place_page(found, date.today()), found.answer


FOR_ALL = ("weather", "output", "as_json")
"""Parameters that every page takes."""


def _map(path: str, output: Path) -> "tuple[str, Answer] | None":
    """Return the page of a map that `emcforecast map` wrote; None for other files."""
    from emcforecast.grid.written import read_map

    result = read_map(Path(path))
    if result is None:
        return None
    from emcforecast.answers.map import map_answered
    from emcforecast.pages.map import map_page

    _without_options(_("a map"))
    said = map_answered(result, {"map": path, "output": output}, output=path)
    return map_page(result, said, date.today()), said.answer


def _yard(
    weather: str,
    output: Path,
    units: str | None,
    today: str | None,
    options: dict[str, Any],
) -> "tuple[str, Answer]":
    drawing = _imported_beside("emcforecast.pages.yard")
    from emcforecast.answers.yard import yard_answered
    from emcforecast.cli.yard import follow_yard, read_by
    from emcforecast.yard.file import read_yard

    _without_options(_("a yard"), "today", "units")
    yard = read_yard(Path(weather))
    spare((output,), read_by(yard))
    state, series, system = follow_yard(yard, today, units, paths=True)
    said: UnitSystem = system
    answered = yard_answered(
        state,
        series,
        system=said,
        inputs={"file": weather, "today": state.today, "output": output},
    )
    drawing.join()
    from emcforecast.pages.yard import yard_page

    return yard_page(answered, said), answered.answer


def _without_options(what: str, *but: str) -> None:
    """Refuse options of a place that were given for something else."""
    ctx = click.get_current_context()
    for param in ctx.command.params:
        name = param.name or ""
        given = ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE
        if given and name in ctx.params and name not in (*FOR_ALL, *but):
            raise InputError(
                _(
                    "{option} says nothing of {what}; leave it out",
                    option=param.opts[0],
                    what=what,
                )
            )


def _imported_beside(module: str) -> Thread:
    """Import what draws the page while boards are followed on the other core."""
    importing = Thread(target=import_module, args=(module,), daemon=True)
    importing.start()
    return importing


def _day(option: str, text: str | None) -> date | None:
    return None if text is None else day_given(option, text)
