"""`emcforecast yard`: every stack of a yard file, and the commands that keep it."""

from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.help import Helped
from emcforecast.cli.options import output_options, plot_options
from emcforecast.cli.progress import Progress
from emcforecast.cli.spared import spare
from emcforecast.dates import day_given
from emcforecast.language import _, p_
from emcforecast.units import UnitSystem

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.yard.model import Yard
    from emcforecast.yard.result import YardState

# name: (module of emcforecast.cli, attribute, one line of help).
PARTS = {
    "new": ("yard_edit", "new", "Begin a yard file."),
    "add": ("yard_edit", "add", "Add a stack to a yard file."),
    "move": ("yard_edit", "move", "Note that a stack was carried elsewhere."),
    "reading": ("yard_reading", "reading", "Log a reading; it moves the forecast."),
    "calendar": ("yard_edit", "calendar", "The next steps as a calendar file."),
    "labels": ("yard_labels", "labels", "A label for each stack, to print."),
    "show": ("yard", "show", "Every stack: moisture now, next step (the default)."),
}

file_argument = click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
today_option = click.option(
    "--today", metavar="DATE", help="Take this day for today: year-month-day."
)


class YardGroup(Helped, click.Group):
    """`yard FILE` shows the yard; `yard add FILE` and its like keep it."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the parts."""
        return list(PARTS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a part when it is asked for."""
        if cmd_name not in PARTS:
            return None
        module, attribute, _about = PARTS[cmd_name]
        found: click.Command = getattr(
            import_module(f"emcforecast.cli.{module}"), attribute
        )
        return found

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take a first word that is no part's name for the yard file."""
        args = args or ["--help"]
        if args[0] not in PARTS and args[0] not in ("-h", "--help"):
            args = ["show", *args]
        return super().parse_args(ctx, args)

    def format_options(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """List the parts after the options; there are none but help."""
        super().format_options(ctx, formatter)
        self.format_commands(ctx, formatter)

    def format_commands(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """List the parts without importing them."""
        with formatter.section(_("Commands")):
            formatter.write_dl(
                [(name, p_("help", text)) for name, (*_where, text) in PARTS.items()]
            )


@click.group(
    "yard",
    cls=YardGroup,
    short_help="Every stack of a yard file: moisture now and what is next.",
)
def command() -> None:
    """Every stack of a yard file: its moisture now, and what is next.

    `emcforecast yard yard.toml` shows the yard; its options are those of show.
    """


@click.command("show", cls=Command, short_help="Every stack: moisture now, next step.")
@file_argument
@today_option
@click.option(
    "--stack", "only", multiple=True, help="Only this stack; may be repeated."
)
@click.option("--readings", is_flag=True, help="Print what every reading did too.")
@plot_options
@output_options
def show(
    file: Path,
    today: str | None,
    only: tuple[str, ...],
    readings: bool,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Show every stack of FILE: moisture now, when it gets where, what is next.

    The most urgent stack stands first. Readings of the log beside FILE move the
    forecast; a reading that cannot be right is questioned, kept and not used.
    """
    from emcforecast.answers.yard import yard_answered
    from emcforecast.yard.file import read_yard

    wanted = options["plot_file"] is not None
    yard = read_yard(file)
    spare((csv_file, options["plot_file"]), read_by(yard))
    state, weather, system = follow_yard(yard, today, units, only, paths=wanted)
    answered = yard_answered(
        state,
        weather,
        system=system,
        readings=readings,
        inputs={
            "file": file,
            "today": state.today,
            "stacks": list(only),
            "units": system,
        },
    )
    common.give(
        answered.answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=pictures.drawing(answered, options),
    )


def read_by(yard: "Yard") -> tuple[Path, ...]:
    """Return the files a yard's answer is based on."""
    weather = yard.weather.file
    beside = () if weather is None else (yard.path.parent / weather,)
    return (yard.path, yard.readings, *beside)


def follow_yard(
    yard: "Yard",
    today: str | None,
    units: str | None,
    only: tuple[str, ...] = (),
    *,
    paths: bool = False,
) -> "tuple[YardState, xr.Dataset, UnitSystem]":
    """Follow the stacks of a yard, telling the progress on stderr."""
    progress = Progress(_("the yard"))
    progress(0.0, _("reading the weather"))
    from emcforecast.yard.state import yard_state, yard_weather

    for name in only:
        yard.stack(name)
    system = units_of(yard, units)
    weather = yard_weather(yard)
    state = yard_state(
        yard,
        weather,
        day_of(today),
        system=system,
        only=only,
        paths=paths,
        progress=progress,
    )
    progress(1.0)
    return state, weather, system


def units_of(yard: "Yard", units: str | None) -> UnitSystem:
    """Return the units asked for, the yard's own, or this computer's."""
    return common.units_or_default(units or yard.units)


def day_of(today: str | None) -> date:
    """Return the day taken for today."""
    return day_given("--today", today) if today else now().date()


def now() -> datetime:
    """Return this moment with its time zone."""
    return datetime.now().astimezone()


def given(**values: Any) -> dict[str, Any]:
    """Return the options that were given."""
    return {key: value for key, value in values.items() if value is not None}
