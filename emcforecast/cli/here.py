"""`emcforecast here`: remember the weather, its hints, units and woods once."""

import json
from pathlib import Path
from typing import Any

import click

from emcforecast.cli.command import Command
from emcforecast.cli.options import place_options, reading_options, yard_option
from emcforecast.cli.remembered import SHARED, file, kept
from emcforecast.cli.terminal import say
from emcforecast.cli.values import OneOf
from emcforecast.files import replace
from emcforecast.language import _


@click.command(
    "here", cls=Command, short_help="Remember your place, weather and units."
)
@click.argument("weather", metavar="[WEATHER]", required=False)
@place_options
@reading_options
@yard_option
@click.option("--units", type=OneOf(["us", "si"]), help="As in every answer.")
@click.option("--forget", is_flag=True, help="Forget what is remembered.")
def command(forget: bool, **options: Any) -> None:
    """Remember WEATHER and options, so that other commands need not be given them.

    Without words it shows what is remembered. An option given to a command counts for
    that once; the hints of a file count only for the file they were given with.
    """
    path = file()
    given = {
        name: _plain(name, value)
        for name, value in options.items()
        if value not in (None, (), [])
    }
    if forget:
        path.unlink(missing_ok=True)
        say(_("Nothing is remembered now."))
        return
    found = kept()
    if given:
        if "weather" in given:
            found = {k: v for k, v in found.items() if k not in SHARED}
        found |= given
        path.parent.mkdir(parents=True, exist_ok=True)
        replace(path, f"{json.dumps(found, indent=2)}\n".encode())
    if not found:
        say(_("Nothing is remembered. Say: emcforecast here WEATHER [OPTIONS]"))
        return
    say(_("Remembered in {path}:", path=path))
    for name, value in found.items():
        shown = " ".join(value) if isinstance(value, list) else value
        say(f"  {name.replace('_', ' '):<20}{shown}")


def _plain(name: str, value: Any) -> Any:
    """Return an option as JSON holds it; files by their whole path."""
    if name == "yard_file":
        return str(Path(value).absolute())
    if name == "weather":
        parts = [Path(part) for part in value.split("+")]
        if all(part.exists() for part in parts):
            return "+".join(str(part.absolute()) for part in parts)
    return list(value) if isinstance(value, tuple) else value
