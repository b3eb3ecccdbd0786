"""All that help says, asked of the commands themselves, for tables of sentences."""

from collections.abc import Iterator

import click

from emcforecast.cli.commands import COMMANDS, INTRODUCTION
from emcforecast.cli.group import cli
from emcforecast.cli.help import help_of
from emcforecast.cli.yard import PARTS


def helped() -> Iterator[tuple[str, str]]:
    """Yield the context and English of all that help says, for tables of sentences."""
    yield "help", INTRODUCTION
    for *_where, text in (*COMMANDS.values(), *PARTS.values()):
        yield "help", text
    for command in _all(cli, click.Context(cli)):
        ctx = click.Context(command)
        yield "help", help_of(command)
        for piece in command.collect_usage_pieces(ctx):
            yield "help", piece
        for param in command.get_params(ctx):
            if not isinstance(param, click.Option) or param.hidden:
                continue
            if "--help" in param.opts:
                continue
            value = "" if param.is_flag else param.metavar or param.type.name.upper()
            for words in (param.help, value, param.show_default):
                if words and isinstance(words, str):
                    yield "help", words


def _all(group: click.Group, ctx: click.Context) -> Iterator[click.Command]:
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        if command is None:
            continue
        yield command
        if isinstance(command, click.Group):
            yield from _all(command, click.Context(command))
