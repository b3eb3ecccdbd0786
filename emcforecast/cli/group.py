"""The command group: imports a command only when it runs, and speaks refusals."""

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module
from math import isfinite
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from emcforecast.cli.commands import COMMANDS, help_text
from emcforecast.cli.remembered import SHARED, kept
from emcforecast.errors import EmcforecastError, InputError, harmless
from emcforecast.files import is_file
from emcforecast.language import VARIABLE, _, did_you_mean, language_given, speaking
from emcforecast.units import system_of


def say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Print, the only way this program does: nothing in it steers the screen."""
    click.echo(harmless(text), err=err, nl=nl)


WRITTEN = ("csv_file", "plot_file", "output")
"""Parameters that name a file to write."""


def spare(written: Iterable[Path | None], read: Iterable[Path | None]) -> None:
    """Refuse to write over a file that is read.

    Parameters
    ----------
    written, read : iterable of Path or None
        Files to be written, and files the answer is based on.

    Raises
    ------
    InputError
        When one is both, by whatever name.
    """
    kept = [path for path in read if path is not None and is_file(path)]
    for path in written:
        if path is None or not is_file(path):
            continue
        if any(path.samefile(other) for other in kept):
            raise InputError(
                _(
                    "{path}: the answer is made from this file and would be "
                    "written over it; name another file",
                    path=path,
                )
            )


def spare_inputs(parameters: Mapping[str, Any]) -> None:
    """Refuse a command line whose output is one of the files it names as input."""
    given = [
        Path(part)
        for name, value in parameters.items()
        if name not in WRITTEN
        for part in (value if isinstance(value, tuple) else (value,))
        if isinstance(part, (str, Path)) and 0 < len(str(part)) < 1000
    ]
    written = (parameters.get(name) for name in WRITTEN)
    spare((path for path in written if isinstance(path, Path)), _files(given))


def _files(given: Iterable[Path]) -> Iterable[Path]:
    """Yield what is named as files: `a+b` and `name=file` name their parts too."""
    for path in given:
        whole = str(path)
        for text in (whole, *whole.split("+"), whole.partition("=")[2]):
            if text and "\0" not in text:
                yield Path(text)


WHEN_UNSAID = SHARED | {
    *("logger_utc_offset", "logger_day_first", "logger_temperature_unit"),
}
"""Options that say what a file does not."""
HOW_ANSWERED = frozenset(
    {
        *(
            "as_json",
            "csv_file",
            "units",
            "language",
            "plot_file",
            "dark",
            "narrow",
            "quiet",
        ),
    }
)
"""Options that shape the answer."""


LISTS_THEM = ("check", "here")
"""Commands that list the options of weather files; others point to the first."""
FIRST_COLUMN = 26
ELSEWHERE = (
    "WEATHER is a file, archive and place, or demo; see `emcforecast check --help`."
)
MEASURES = frozenset(
    {
        *("thickness", "thicknesses", "width", "length", "depth"),
        *("wood_temp", "calibrated", "oven", "sample", "planing"),
    }
)
"""Options that are lengths, weights or temperatures with their unit."""
TYPED = "emcforecast.typed"
"""Where the system of the units that were typed is kept, if they agree."""


class Number(click.types.FloatParamType):
    """A finite number."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Read a number; nan and inf are none."""
        number = super().convert(value, param, ctx)
        if not isfinite(number):
            self.fail(f"{value!r} is not a number; write one such as 12.", param, ctx)
        return number


class NumberRange(Number, click.FloatRange):
    """A finite number within bounds."""


NUMBER = Number()


class Command(click.Command):
    """A command whose help sorts its options, and that spares the files it reads."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words of the command line; an option of one value comes once."""
        given = [
            word.partition("=")[0]
            for word in (args[: args.index("--")] if "--" in args else args)
            if word.startswith("--")
        ]
        for param in self.params:
            once = isinstance(param, click.Option) and not (
                param.multiple or param.is_flag or param.count
            )
            words = [word for word in given if word in param.opts]
            if once and len(words) > 1:
                raise click.UsageError(
                    _(
                        "{words} is given {count} times; give it once.",
                        words=words[0],
                        count=len(words),
                    ),
                    ctx,
                )
        rest = super().parse_args(ctx, args)
        typed = {
            system_of(part)
            for name, value in ctx.params.items()
            if name in MEASURES
            and ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE
            for part in (value if isinstance(value, tuple) else (value,))
            if isinstance(part, str)
        } - {None}
        ctx.meta[TYPED] = typed.pop() if len(typed) == 1 else None
        if ctx.get_parameter_source("weather") is ParameterSource.COMMANDLINE:
            # Hints that are remembered belong to the weather remembered with them.
            for param in self.params:
                name = param.name or ""
                source = ctx.get_parameter_source(name)
                if name in WHEN_UNSAID and source is ParameterSource.DEFAULT_MAP:
                    ctx.params[name] = () if param.multiple else None
        return rest

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless it would write over what it reads."""
        spare_inputs(ctx.params)
        return super().invoke(ctx)

    def format_options(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """Write the options under the heading each belongs to."""
        sections: dict[str, list[tuple[str, str]]] = {
            "Options": [],
            "When the file does not say": [],
            "The answer": [],
        }
        elsewhere = False
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is None or not isinstance(param, click.Option):
                continue
            if "--help" in param.opts:
                continue  # It was just typed.
            heading = (
                "When the file does not say"
                if param.name in WHEN_UNSAID
                else "The answer"
                if param.name in HOW_ANSWERED
                else "Options"
            )
            if param.name in SHARED and ctx.info_name not in LISTS_THEM:
                elsewhere = True
            else:
                sections[heading].append(record)
        for heading, records in sections.items():
            if records:
                with formatter.section(heading):
                    formatter.write_dl(records, col_max=FIRST_COLUMN)
        if elsewhere:
            formatter.write_paragraph()
            formatter.write_text(ELSEWHERE)


FORGETFUL = frozenset({"here", "yard", "completion"})
"""Commands that what `here` remembers does not reach: a yard has its own weather."""
HELP = frozenset({"-h", "--help"})
REMEMBER = "name it, or remember one with `emcforecast here WEATHER`."


class Commands(click.Group):
    """A group that imports a command when it is asked for, not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the commands in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the module of a command and return the command."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"emcforecast.cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Refuse an unknown command with the nearest known one."""
        if args and args[0] == "help":
            args = [*args[1:], "--help"]
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = did_you_mean(args[0], list(COMMANDS))
            raise click.UsageError(
                _(
                    "there is no command '{args}'.{near} `emcforecast --help` "
                    "lists all",
                    args=args[0],
                    near=near,
                )
            )
        if args[0] not in FORGETFUL and not HELP & set(args):
            ctx.default_map = {args[0]: kept()}
        return super().resolve_command(ctx, args)

    def format_help(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the help of the whole command line."""
        formatter.write(help_text())

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run a command; a refusal is one line on stderr and exit code 2."""
        stdout = sys.stdout
        try:
            code = super().main(
                args,
                prog_name or "emcforecast",
                complete_var,
                standalone_mode=False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except click.UsageError as error:
            _refuse(_misused(error))
        except click.ClickException as error:
            _refuse(error.format_message())
        except click.Abort:
            say("stopped.", err=True)
            sys.exit(130)
        except EmcforecastError as error:
            _refuse(str(error))
        except SystemExit:
            # click puts a quiet stream in its place when the pipe is closed early.
            if sys.stdout is not stdout:
                sys.exit(0)
            raise
        sys.stdout.flush()
        sys.exit(code if isinstance(code, int) else 0)


def _misused(error: click.UsageError) -> str:
    """Say what was wrong with a command line, and where its options are listed."""
    message = error.format_message()
    param = getattr(error, "param", None)
    if isinstance(error, click.MissingParameter) and getattr(param, "name", "") == (
        "weather"
    ):
        message = f"{message.rstrip('.')}: {REMEMBER}"
    if error.ctx is None or error.ctx.parent is None:
        return message
    path = error.ctx.command_path
    name = path.partition(" ")[2] or path
    stop = "" if message.endswith((".", "?")) else "."
    return f"{name}: {message}{stop} `{path} --help` lists what it takes."


def _refuse(message: str) -> None:
    """Print the reason on one line of stderr and stop with exit code 2."""
    say(str(InputError(message)), err=True)
    sys.exit(2)


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
    no_args_is_help=True,
)
@click.version_option(package_name="emcforecast", message="emcforecast %(version)s")
def cli() -> None:
    """How dry can wood get here, by when, and where next."""
    asked = os.environ.get(VARIABLE)
    if asked:
        context = click.get_current_context()
        context.with_resource(speaking(language_given(asked, VARIABLE)))
