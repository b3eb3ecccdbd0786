"""How far a long job is, told on stderr."""

import sys
import time

import click

from emcforecast.cli.options import is_quiet
from emcforecast.cli.terminal import say
from emcforecast.errors import harmless

LONG_JOB_SECONDS = 1.0
"""Progress is shown for anything longer."""


class Progress:
    """Say on stderr how far a long job is, once it takes over a second.

    Examples
    --------
    >>> progress = Progress("boards")
    >>> progress(0.5)  # nothing is printed within the first second
    """

    def __init__(self, what: str) -> None:
        """Start the clock.

        Parameters
        ----------
        what : str
            The job, in a word or two.
        """
        self.what = what
        self.started = time.monotonic()
        self.shown = -1
        self.length = 0
        self.quiet = is_quiet()

    def __call__(self, fraction: float, what: str | None = None) -> None:
        """Report the fraction done, 0 to 1.

        Parameters
        ----------
        fraction : float
            How much is done.
        what : str, optional
            A new name for the part of the job at hand.
        """
        self.what = what or self.what
        if self.quiet or time.monotonic() - self.started < LONG_JOB_SECONDS:
            return
        percent = int(100 * min(max(fraction, 0.0), 1.0))
        live = sys.stderr.isatty()
        if live and percent != self.shown:
            text = harmless(f"{self.what}: {percent} %")
            click.echo(f"\r{text:<{self.length}}", nl=percent >= 100, err=True)
            self.length = len(text)
        elif not live and percent // 25 != self.shown // 25:
            say(f"{self.what}: {percent} %", err=True)
        self.shown = percent
