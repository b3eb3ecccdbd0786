"""What the commands share: options, reading weather, printing answers."""

import os
import re
import sys
import time
import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from emcforecast import bounds
from emcforecast.cli import group
from emcforecast.dates import parse_date
from emcforecast.errors import InputError
from emcforecast.files import replace
from emcforecast.report.document import document, to_json, write_csv
from emcforecast.report.words import wrapped
from emcforecast.units import UnitSystem, default_units

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look
    from emcforecast.wood.species import Found, Species

Command = TypeVar("Command", bound=Callable[..., Any])

HINTS = (
    *("latitude", "longitude", "elevation", "utc_offset"),
    *("day_first", "temperature_unit", "humidity_unit", "wind_unit"),
    *("precipitation_unit", "stamp", "place", "sheet"),
)
"""Options that are passed to the weather reader under their own names."""

PICTURES = (".png", ".svg", ".pdf")
"""Endings a picture may have."""
LONG_JOB_SECONDS = 1.0
"""Progress is shown for anything longer."""


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
        type=group.NumberRange(*bounds.PLACE["latitude"]),
        metavar="°",
        help="North; south is minus.",
    ),
    click.option(
        "--longitude",
        type=group.NumberRange(*bounds.PLACE["longitude"]),
        metavar="°",
        help="East; west is minus.",
    ),
    click.option(
        "--elevation", type=group.NUMBER, metavar="METRES", help="Above the sea."
    ),
)

reading_options = stacked(
    click.option(
        "--utc-offset",
        type=group.NumberRange(*bounds.PLACE["utc_offset"]),
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
        type=click.Choice(["C", "F", "K"], case_sensitive=False),
        help="Of its temperatures.",
    ),
    click.option(
        "--humidity-unit",
        type=click.Choice(["percent", "fraction"], case_sensitive=False),
        help="Of its relative humidity.",
    ),
    click.option(
        "--wind-unit",
        type=click.Choice(["m/s", "km/h", "mph", "kn"]),
        help="Of its wind speed.",
    ),
    click.option(
        "--precipitation-unit",
        type=click.Choice(["mm", "in"]),
        help="Of its rain.",
    ),
    click.option(
        "--stamp",
        type=click.Choice(["start", "end"]),
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


def writable(
    _context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    """Refuse a file that cannot be written before the long work, not after."""
    if path is not None:
        if path == Path():
            raise InputError(f"{option.opts[0]}: no file is named; name one")
        folder = path.absolute().parent
        if not folder.is_dir():
            raise InputError(f"{path}: there is no folder {folder}; name another file")
        if path.is_dir() or not os.access(path if path.exists() else folder, os.W_OK):
            raise InputError(f"{path}: cannot be written; name another file")
    return path


def _picture(
    context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    """Refuse a picture of an unknown kind, or one that cannot be written."""
    if path is not None and path != Path() and path.suffix.lower() not in PICTURES:
        raise InputError(f"{path}: a picture ends in {', '.join(PICTURES)}; name it so")
    return writable(context, option, path)


QUIET = "emcforecast.quiet"


def _be_quiet(context: click.Context, _option: click.Parameter, value: bool) -> None:
    context.meta[QUIET] = value


def is_quiet() -> bool:
    """Say whether --quiet was given to the command that runs."""
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.meta.get(QUIET))


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
        type=click.Choice(["us", "si"]),
        default=None,
        help="°F and inches, or °C and mm.",
    ),
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
        default="white oak",
        show_default=True,
        metavar="WOOD",
        help="See `emcforecast species`.",
    ),
    yard_option,
    click.option(
        "--thickness",
        default="4/4",
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


def sizes_given(
    width: str | None, length: str | None, units: str | None
) -> "tuple[float | None, float | None]":
    """Return the width and length of a board, mm; None where not given."""
    from emcforecast.units import parse_length

    asked = units_asked(units)
    return (
        None if width is None else parse_length(width, asked),
        None if length is None else parse_length(length, asked),
    )


settings_option = click.option(
    "--setting",
    "settings",
    multiple=True,
    metavar="PLACE",
    help="shed=loft,roof=metal: see `emcforecast settings`.",
)


@dataclass
class Answer:
    """What a command has to say, however it is printed.

    Parameters
    ----------
    command : str
        The command's name.
    inputs : mapping
        What was asked, as understood.
    result : mapping or dataclass
        The JSON result.
    text : str
        The words and table for a person.
    rows : sequence of mapping
        The table as rows for a CSV file.
    weather : Dataset or None
        The series the answer is based on.
    warnings, cautions : sequence of str
        What weakens the answer; what could hurt someone.
    """

    command: str
    inputs: Mapping[str, Any]
    result: Any
    text: str
    rows: Sequence[Mapping[str, Any]] = ()
    weather: "xr.Dataset | None" = None
    warnings: Sequence[str] = field(default_factory=tuple)
    cautions: Sequence[str] = field(default_factory=tuple)


def give(
    answer: Answer,
    *,
    as_json: bool,
    csv_file: Path | None = None,
    picture: Callable[[], None] | None = None,
) -> None:
    """Print an answer as text or as JSON, and write its files.

    Parameters
    ----------
    answer : Answer
        What there is to say.
    as_json : bool
        One document and nothing else on stdout.
    csv_file : Path, optional
        Also write the rows here.
    picture : callable, optional
        Draws and writes the picture.

    Raises
    ------
    InputError
        When a file cannot be written; only after the answer is printed and the
        other file written, so that nothing long is lost.
    """
    failed: list[InputError] = []
    for write in (
        None if csv_file is None else lambda: write_csv(csv_file, answer.rows),
        picture,
    ):
        try:
            if write is not None:
                write()
        except InputError as error:
            failed.append(error)
    _print(answer, as_json=as_json)
    if failed:
        raise failed[0]


def _print(answer: Answer, *, as_json: bool) -> None:
    if as_json:
        click.echo(
            to_json(
                document(
                    answer.command,
                    answer.inputs,
                    answer.result,
                    weather=answer.weather,
                    warnings=answer.warnings,
                    cautions=answer.cautions,
                ),
                ascii_only=not (sys.stdout.encoding or "utf-8")
                .lower()
                .startswith("utf"),
            )
        )
        return
    lines = [answer.text]
    lines += [wrapped(f"Note: {warning}") for warning in answer.warnings]
    lines += [wrapped(f"Caution: {caution}") for caution in answer.cautions]
    click.echo(_emphasised("\n".join(lines)))


URGENT = re.compile(r"^NOW\b|\bsevere\b", re.MULTILINE)
"""What is to be done now, and severe risks: the words alone say it in a pipe."""


def _emphasised(text: str) -> str:
    """Print urgent words bold and red; click leaves that out where no screen is."""
    if os.environ.get("NO_COLOR"):
        return text
    return URGENT.sub(lambda found: click.style(found[0], fg="red", bold=True), text)


def units_asked(units: str | None) -> UnitSystem | None:
    """Return the unit system asked for by name: what a bare number is meant in."""
    return "us" if units == "us" else "si" if units == "si" else None


def units_or_default(units: str | None) -> UnitSystem:
    """Return the unit system asked for, else of the units typed, else this computer's.

    What was typed in mm is answered in mm, whatever the region.
    """
    context = click.get_current_context(silent=True)
    typed: UnitSystem | None = (
        None if context is None else context.meta.get(group.TYPED)
    )
    return units_asked(units) or typed or default_units()


def reading_hints(options: Mapping[str, Any]) -> dict[str, Any]:
    """Pick the options that help read a weather file, leaving out the unset ones.

    Raises
    ------
    InputError
        When a column option is not NAME=HEADER.
    """
    hints = {name: options[name] for name in HINTS if options.get(name) is not None}
    columns = {}
    for text in options.get("columns", ()):
        name, equals, header = text.partition("=")
        if not (name and equals and header):
            raise InputError(
                f"--column {text!r}: write NAME=HEADER, such as "
                "relative_humidity='RH out'"
            )
        columns[name] = header
    if columns:
        hints["columns"] = columns
    return hints


def wood_for(name: str, yard_file: Path | None) -> "Found":
    """Find a wood by name, those of a yard file first, and how the name was read.

    Raises
    ------
    SpeciesError
        When the name is unknown or means several unlike woods.
    YardError
        When the yard file cannot be read.
    """
    from emcforecast.wood.species import Found, resolve_species

    found = resolve_species(name, own_woods(yard_file))
    return Found(found.species, f"{found.note}." if found.note else "")


def own_woods(yard_file: Path | None) -> "dict[str, Species]":
    """Return the woods that a yard file adds, none without one."""
    if yard_file is None:
        return {}
    from emcforecast.yard.file import read_yard

    return dict(read_yard(yard_file).woods)


def read_weather_for(weather: str, options: Mapping[str, Any]) -> "xr.Dataset":
    """Read the WEATHER argument with the command's own hints."""
    from emcforecast.weather.read import read_weather

    return read_weather(weather, progress=asking(), **reading_hints(options))


def asking() -> Callable[[int, int, str], None]:
    """Return what tells how far an archive, or a folder of files, has been read."""
    progress = Progress("reading the weather")
    return lambda done, of, label: progress(done / of, label or None)


def source_line(weather: "xr.Dataset") -> str:
    """Say where the weather comes from, with its attribution, for a picture's foot."""
    parts = [weather.attrs["source"], weather.attrs.get("attribution")]
    return ". ".join(str(part).rstrip(".") for part in parts if part)


def day_given(option: str, text: str) -> date:
    """Read the date of an option.

    Raises
    ------
    InputError
        When it is not a date, or of another century.
    """
    try:
        return parse_date(text)
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


def look(options: Mapping[str, Any]) -> "Look":
    """Return the look the picture options ask for."""
    from emcforecast.charts import style

    return style.DARK if options.get("dark") else style.LIGHT


WIDE_DPI, NARROW_DPI, NARROW_INCHES = 150, 300, 5.0
"""Dots an inch; pictures up to so wide are for phones, whose dots are finer."""


def save_figure(figure: "Figure", path: Path) -> None:
    """Write a picture; the same input gives the same bytes.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    from matplotlib import rc_context
    from matplotlib.text import Text

    ending = path.suffix.lower().lstrip(".")
    metadata = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(ending)
    for text in figure.findobj(Text):
        text.set_parse_math(False)  # A $ in a file's name is no formula.
        # Bytes of a name that are no letters cannot be drawn.
        text.set_text(text.get_text().encode("utf-8", "replace").decode("utf-8"))
    drawn = BytesIO()
    with warnings.catch_warnings(), rc_context({"svg.hashsalt": "emcforecast"}):
        # Letters the font lacks are drawn as boxes; the picture is whole without.
        warnings.filterwarnings("ignore", "Glyph .* missing")
        dpi = WIDE_DPI if figure.get_figwidth() > NARROW_INCHES else NARROW_DPI
        figure.savefig(drawn, format=ending or "png", dpi=dpi, metadata=metadata)
    replace(path, drawn.getvalue())
    if not is_quiet():
        click.echo(f"Picture: {path}", err=True)


class Progress:
    """Say on stderr how far a long job is, once it takes over a second.

    Examples
    --------
    >>> progress = Progress("boards")
    >>> progress(0.5)  # nothing is printed within the first second
    """

    def __init__(self, what: str) -> None:
        """Start the clock.

        Parameters
        ----------
        what : str
            The job, in a word or two.
        """
        self.what = what
        self.started = time.monotonic()
        self.shown = -1
        self.length = 0
        self.quiet = is_quiet()

    def __call__(self, fraction: float, what: str | None = None) -> None:
        """Report the fraction done, 0 to 1.

        Parameters
        ----------
        fraction : float
            How much is done.
        what : str, optional
            A new name for the part of the job at hand.
        """
        self.what = what or self.what
        if self.quiet or time.monotonic() - self.started < LONG_JOB_SECONDS:
            return
        percent = int(100 * min(max(fraction, 0.0), 1.0))
        live = sys.stderr.isatty()
        if live and percent != self.shown:
            text = f"{self.what}: {percent} %"
            click.echo(f"\r{text:<{self.length}}", nl=percent >= 100, err=True)
            self.length = len(text)
        elif not live and percent // 25 != self.shown // 25:
            click.echo(f"{self.what}: {percent} %", err=True)
        self.shown = percent
