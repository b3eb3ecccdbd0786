"""What the commands share: reading what was typed, printing answers."""

import os
import re
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli.command import TYPED
from emcforecast.cli.progress import Progress
from emcforecast.cli.terminal import say
from emcforecast.errors import InputError, harmless
from emcforecast.language import _, p_
from emcforecast.report.answer import Answer
from emcforecast.report.document import document, to_json, write_csv
from emcforecast.report.words import wrapped
from emcforecast.units import UnitSystem, default_units
from emcforecast.weather.hints import SAID_OF_A_FILE

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.wood.species import Found, Species


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
        say(
            to_json(
                document(answer),
                ascii_only=not (sys.stdout.encoding or "utf-8")
                .lower()
                .startswith("utf"),
            )
        )
        return
    lines = [answer.text]
    lines += [
        wrapped(_("Note: {warning}", warning=warning)) for warning in answer.warnings
    ]
    lines += [
        wrapped(_("Caution: {caution}", caution=caution)) for caution in answer.cautions
    ]
    click.echo(_emphasised(harmless("\n".join(lines))))


def _emphasised(text: str) -> str:
    """Print urgent words bold and red; click leaves that out where no screen is."""
    if os.environ.get("NO_COLOR"):
        return text
    now, severe = re.escape(_("NOW")), re.escape(p_("level", "severe"))
    urgent = re.compile(rf"^{now}\b|\b{severe}\b", re.MULTILINE)
    return urgent.sub(lambda found: click.style(found[0], fg="red", bold=True), text)


def units_asked(units: str | None) -> UnitSystem | None:
    """Return the unit system asked for by name: what a bare number is meant in."""
    return "us" if units == "us" else "si" if units == "si" else None


def units_or_default(units: str | None) -> UnitSystem:
    """Return the unit system asked for, else of the units typed, else this computer's.

    What was typed in mm is answered in mm, whatever the region.
    """
    context = click.get_current_context(silent=True)
    typed: UnitSystem | None = None if context is None else context.meta.get(TYPED)
    return units_asked(units) or typed or default_units()


def reading_hints(options: Mapping[str, Any]) -> dict[str, Any]:
    """Pick the options that help read a weather file, leaving out the unset ones.

    Raises
    ------
    InputError
        When a column option is not NAME=HEADER.
    """
    hints = {
        name: options[name] for name in SAID_OF_A_FILE if options.get(name) is not None
    }
    columns = {}
    for text in options.get("columns", ()):
        name, equals, header = text.partition("=")
        if not (name and equals and header):
            raise InputError(
                _(
                    "--column {text!r}: write NAME=HEADER, such as "
                    "relative_humidity='RH out'",
                    text=text,
                )
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
    from emcforecast.wood.species import resolve_species

    return resolve_species(name, own_woods(yard_file))


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
    progress = Progress(_("reading the weather"))
    return lambda done, of, label: progress(done / of, label or None)
