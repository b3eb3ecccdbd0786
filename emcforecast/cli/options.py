"""The options that commands share."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from emcforecast import bounds, language
from emcforecast.cli.values import NUMBER, NumberRange, OneOf
from emcforecast.errors import InputError
from emcforecast.files import exists, is_folder
from emcforecast.language import _

Command = TypeVar("Command", bound=Callable[..., Any])


PICTURES = (".png", ".svg", ".pdf")
"""Endings a picture may have."""


def stacked(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Apply several click decorators, the first one outermost."""

    def decorate(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


place_options = stacked(
    click.option(
        "--latitude",
        type=NumberRange(*bounds.PLACE["latitude"]),
        metavar="°",
        help="North; south is minus.",
    ),
    click.option(
        "--longitude",
        type=NumberRange(*bounds.PLACE["longitude"]),
        metavar="°",
        help="East; west is minus.",
    ),
    click.option("--elevation", type=NUMBER, metavar="METRES", help="Above the sea."),
)


reading_options = stacked(
    click.option(
        "--utc-offset",
        type=NumberRange(*bounds.PLACE["utc_offset"]),
        metavar="HOURS",
        help="Its clock's hours ahead of UTC, all year.",
    ),
    click.option(
        "--day-first/--month-first",
        "day_first",
        default=None,
        help="How it writes 4/5: 4 May, or 5 April.",
    ),
    click.option(
        "--temperature-unit",
        type=OneOf(["C", "F", "K"], case_sensitive=False),
        help="Of its temperatures.",
    ),
    click.option(
        "--humidity-unit",
        type=OneOf(["percent", "fraction"], case_sensitive=False),
        help="Of its relative humidity.",
    ),
    click.option(
        "--wind-unit",
        type=OneOf(["m/s", "km/h", "mph", "kn"]),
        help="Of its wind speed.",
    ),
    click.option(
        "--precipitation-unit",
        type=OneOf(["mm", "in"]),
        help="Of its rain.",
    ),
    click.option(
        "--stamp",
        type=OneOf(["start", "end"]),
        help="Which end of its interval a time is.",
    ),
    click.option("--place", metavar="NAME", help="Which place of a file of several."),
    click.option("--sheet", metavar="NAME", help="Which file inside a zip of several."),
    click.option(
        "--column",
        "columns",
        multiple=True,
        metavar="NAME=HEADER",
        help="As in relative_humidity='RH out'.",
    ),
)


weather_options = stacked(
    click.argument("weather", metavar="WEATHER"), place_options, reading_options
)


STORES = ("output",)
"""Options that may name a zarr store, a folder and yet one thing."""
LONGEST_NAME = 255
"""Bytes of a file's name on nearly every disk."""


def writable(
    _context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    """Refuse a file that cannot be written before the long work, not after."""
    if path is not None:
        if path == Path():
            raise InputError(
                _("{option}: no file is named; name one", option=option.opts[0])
            )
        if len(os.fsencode(path.name)) > LONGEST_NAME:
            raise InputError(
                _(
                    "{option}: the file's name has over {most} bytes; name "
                    "another file",
                    option=option.opts[0],
                    most=LONGEST_NAME,
                )
            )
        folder = path.absolute().parent
        if not is_folder(folder):
            raise InputError(
                _(
                    "{path}: there is no folder {folder}; name another file",
                    path=path,
                    folder=folder,
                )
            )
        is_store = is_folder(path) and option.name in STORES and path.suffix == ".zarr"
        if (is_folder(path) and not is_store) or not os.access(
            path if exists(path) else folder, os.W_OK
        ):
            raise InputError(
                _("{path}: cannot be written; name another file", path=path)
            )
    return path


def _picture(
    context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    """Refuse a picture of an unknown kind, or one that cannot be written."""
    if path is not None and path != Path() and path.suffix.lower() not in PICTURES:
        raise InputError(
            _(
                "{path}: a picture ends in {endings}; name it so",
                path=path,
                endings=", ".join(PICTURES),
            )
        )
    return writable(context, option, path)


QUIET = "emcforecast.quiet"


def _be_quiet(context: click.Context, _option: click.Parameter, value: bool) -> None:
    context.meta[QUIET] = value


def is_quiet() -> bool:
    """Say whether --quiet was given to the command that runs."""
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.meta.get(QUIET))


def _known(
    _context: click.Context, _option: click.Parameter, value: str | None
) -> None:
    """Refuse a language there is no table of; `Command` makes it heard."""
    if value is not None:
        language.language_given(value)


language_option = click.option(
    "--language",
    expose_value=False,
    is_eager=True,
    callback=_known,
    metavar="CODE",
    help=f"Of the answer: {', '.join(language.LANGUAGES)}.",
)


output_options = stacked(
    click.option("--json", "as_json", is_flag=True, help="One JSON document."),
    click.option(
        "--csv",
        "csv_file",
        type=click.Path(path_type=Path),
        callback=writable,
        metavar="FILE",
        help="Also write the table to this file.",
    ),
    click.option(
        "--units",
        type=OneOf(["us", "si"]),
        default=None,
        help="°F and inches, or °C and mm.",
    ),
    language_option,
    click.option(
        "--quiet",
        is_flag=True,
        expose_value=False,
        callback=_be_quiet,
        help="No progress, and no names of files written.",
    ),
)


plot_options = stacked(
    click.option(
        "--plot",
        "plot_file",
        type=click.Path(path_type=Path),
        callback=_picture,
        metavar="FILE",
        help="Also draw it: .png, .svg or .pdf.",
    ),
    click.option("--dark", is_flag=True, help="A picture for a dark screen."),
    click.option("--narrow", is_flag=True, help="A picture for a phone."),
)


yard_option = click.option(
    "--yard",
    "yard_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A yard file, for the woods of your own in it.",
)


board_options = stacked(
    click.option(
        "--species",
        default="European larch",
        show_default=True,
        metavar="WOOD",
        help="See `emcforecast species`.",
    ),
    yard_option,
    click.option(
        "--thickness",
        default="27 mm",
        show_default=True,
        metavar="SIZE",
        help="As sawn: 27, 27mm, 4/4, '1 1/8 in'.",
    ),
)


size_options = stacked(
    click.option(
        "--width", metavar="SIZE", help="Of a board: '8 in', 200mm. [default: 175 mm]"
    ),
    click.option(
        "--length", metavar="SIZE", help="With the grain: 8ft. [default: 2.4 m]"
    ),
    click.option("--sealed-ends", is_flag=True, help="The ends are coated."),
)


settings_option = click.option(
    "--setting",
    "settings",
    multiple=True,
    metavar="PLACE",
    help="shed=loft,roof=metal: see `emcforecast settings`.",
)
