"""`emcforecast here`: remember the weather, its hints, units and woods once."""

import json
from pathlib import Path
from typing import Any

import click

from emcforecast.cli import common, group
from emcforecast.errors import InputError
from emcforecast.files import replace


def file() -> Path:
    """Return the small file in which the place is remembered."""
    return Path(click.get_app_dir("emcforecast")) / "here.json"


def kept() -> dict[str, Any]:
    """Return the options that are remembered, by parameter name; {} without any.

    Raises
    ------
    InputError
        When the file cannot be read or is not what `here` writes.
    """
    try:
        found = json.loads(file().read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, RecursionError) as error:
        raise InputError(
            f"{file()}: cannot be read ({error}); remove it, or say again what to "
            "remember with `emcforecast here WEATHER`"
        ) from error
    if not isinstance(found, dict) or not found.keys() <= KEPT:
        raise InputError(
            f"{file()}: not what `emcforecast here` writes; remove it and say again"
        )
    return found


KEPT = frozenset({*common.HINTS, "columns", "weather", "units", "yard_file"})
"""What can be remembered: parameters of other commands by name."""


@click.command(
    "here", cls=group.Command, short_help="Remember your place, weather and units."
)
@click.argument("weather", metavar="[WEATHER]", required=False)
@common.place_options
@common.reading_options
@common.yard_option
@click.option("--units", type=click.Choice(["us", "si"]), help="As in every answer.")
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
        click.echo("Nothing is remembered now.")
        return
    found = kept()
    if given:
        if "weather" in given:
            hints = (*common.HINTS, "columns")
            found = {k: v for k, v in found.items() if k not in hints}
        found |= given
        path.parent.mkdir(parents=True, exist_ok=True)
        replace(path, f"{json.dumps(found, indent=2)}\n".encode())
    if not found:
        click.echo("Nothing is remembered. Say: emcforecast here WEATHER [OPTIONS]")
        return
    click.echo(f"Remembered in {path}:")
    for name, value in found.items():
        shown = " ".join(value) if isinstance(value, list) else value
        click.echo(f"  {name.replace('_', ' '):<20}{shown}")


def _plain(name: str, value: Any) -> Any:
    """Return an option as JSON holds it; files by their whole path."""
    if name == "yard_file":
        return str(Path(value).absolute())
    if name == "weather":
        parts = [Path(part) for part in value.split("+")]
        if all(part.exists() for part in parts):
            return "+".join(str(part.absolute()) for part in parts)
    return list(value) if isinstance(value, tuple) else value
