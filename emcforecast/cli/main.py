"""The command line's door: help without imports, everything else through click."""

import errno
import io
import os
import sys

from emcforecast.cli.commands import help_text

UNWRITABLE = (errno.EPIPE, errno.ENOSPC)
"""What may befall the answer on its way out."""


def run() -> None:
    """Enter from the console script.

    A reader that closes the pipe early (``| head``) has had enough: that is no
    failure. Where the answer cannot be written it says why on one line.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A letter that the screen does not know becomes a question mark.
            stream.reconfigure(errors="replace")
    try:
        _run()
        sys.stdout.flush()
    except OSError as error:
        if error.errno not in UNWRITABLE:
            raise
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if error.errno == errno.EPIPE:
            sys.exit(0)
        print(f"the answer cannot be written: {error.strerror}", file=sys.stderr)
        sys.exit(2)


def _run() -> None:
    asked = "_EMCFORECAST_COMPLETE" not in os.environ
    if asked and sys.argv[1:] in ([], ["-h"], ["--help"], ["help"]):
        print(help_text())
        return
    from emcforecast.cli.group import cli

    cli.main()
