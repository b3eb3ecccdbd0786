"""The command group: imports a command only when it runs, and speaks refusals."""

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any

import click

from emcforecast.cli.commands import COMMANDS, help_text
from emcforecast.errors import EmcforecastError, did_you_mean


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
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = did_you_mean(args[0], list(COMMANDS))
            raise click.UsageError(
                f"there is no command '{args[0]}'.{near} `emcforecast --help` lists all"
            )
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
            click.echo("stopped.", err=True)
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
    """Say what was wrong with a command line, and where its options are told."""
    message = error.format_message()
    if error.ctx is None or error.ctx.parent is None:
        return message
    path = error.ctx.command_path
    name = path.partition(" ")[2] or path
    stop = "" if message.endswith((".", "?")) else "."
    return f"{name}: {message}{stop} `{path} --help` tells what it takes."


def _refuse(message: str) -> None:
    """Print the reason on one line of stderr and stop with exit code 2."""
    click.echo(" ".join(message.split()), err=True)
    sys.exit(2)


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
    no_args_is_help=True,
)
@click.version_option(package_name="emcforecast", message="emcforecast %(version)s")
def cli() -> None:
    """How dry can wood get here, by when, and where next."""
