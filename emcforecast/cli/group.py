"""The command group: imports a command only when it runs, and speaks refusals."""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any, NoReturn

import click

from emcforecast.cli.commands import COMMANDS, help_text
from emcforecast.cli.misused import misused
from emcforecast.cli.remembered import kept
from emcforecast.cli.terminal import say
from emcforecast.errors import EmcforecastError, InputError
from emcforecast.language import (
    VARIABLE,
    _,
    did_you_mean,
    language_given,
    p_,
    speaking,
    spoken_language,
)

FORGETFUL = frozenset({"here", "yard", "completion"})
"""Commands that what `here` remembers does not reach: a yard has its own weather."""
HELP = frozenset({"-h", "--help"})


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

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take no words at all, or the word help alone, for a wish for help."""
        return super().parse_args(ctx, args if args not in ([], ["help"]) else ["-h"])

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
        formatter.write(help_text(lambda text: p_("help", text)))

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
        # What a command was told to speak ends with it, however it ends.
        with speaking(_language_of_all()):
            code = self._run(args, prog_name, complete_var, windows_expand_args, extra)
        sys.stdout.flush()
        sys.exit(code if isinstance(code, int) else 0)

    def _run(
        self,
        args: Sequence[str] | None,
        prog_name: str | None,
        complete_var: str | None,
        windows_expand_args: bool,
        extra: dict[str, Any],
    ) -> Any:
        stdout = sys.stdout
        try:
            return super().main(
                args,
                prog_name or "emcforecast",
                complete_var,
                standalone_mode=False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except click.UsageError as error:
            _refuse(misused(error))
        except click.ClickException as error:
            _refuse(error.format_message())
        except click.Abort:
            say(_("stopped."), err=True)
            sys.exit(130)
        except EmcforecastError as error:
            _refuse(str(error))
        except SystemExit:
            # click puts a quiet stream in its place when the pipe is closed early.
            if sys.stdout is not stdout:
                sys.exit(0)
            raise


def _language_of_all() -> str:
    """Return the language every command speaks unless told another."""
    asked = os.environ.get(VARIABLE)
    if not asked:
        return spoken_language()
    try:
        return language_given(asked, VARIABLE)
    except InputError as error:
        _refuse(str(error))


def _refuse(message: str) -> NoReturn:
    """Print the reason on one line of stderr and stop with exit code 2."""
    say(str(InputError(message)), err=True)
    sys.exit(2)


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
)
@click.version_option(package_name="emcforecast", message="emcforecast %(version)s")
def cli() -> None:
    """How dry can wood get here, by when, and where next."""
