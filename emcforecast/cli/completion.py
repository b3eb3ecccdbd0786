"""`emcforecast completion`: what makes a shell complete commands and options."""

import click
from click.shell_completion import get_completion_class

from emcforecast.cli import group
from emcforecast.cli.command import Command
from emcforecast.cli.terminal import say
from emcforecast.cli.values import OneOf
from emcforecast.language import _

SHELLS = ("bash", "zsh", "fish")


@click.command(
    "completion", cls=Command, short_help="Make your shell complete the words."
)
@click.argument("shell", type=OneOf(SHELLS), metavar="|".join(SHELLS))
def command(shell: str) -> None:
    """Print what SHELL must run to complete commands and options.

    For bash add to ~/.bashrc: eval "$(emcforecast completion bash)". For zsh the same
    in ~/.zshrc. For fish write it to ~/.config/fish/completions/emcforecast.fish.
    """
    complete = get_completion_class(shell)
    if complete is None:  # pragma: no cover - the choice above allows no other
        raise click.UsageError(_("{shell} is not known", shell=shell))
    name = "emcforecast"
    say(complete(group.cli, {}, name, "_EMCFORECAST_COMPLETE").source())
