"""Printing to the terminal, the only way this program does."""

import click

from emcforecast.errors import harmless


def say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Print; nothing in the text steers the screen."""
    click.echo(harmless(text), err=err, nl=nl)
