"""The command line's door: help without imports, everything else through click."""

import errno
import io
import os
import sys
from pathlib import Path

from emcforecast.cli.commands import help_text

UNWRITABLE = (errno.EPIPE, errno.ENOSPC)
"""What may befall the answer on its way out."""


def run() -> None:
    """Enter from the console script.

    A reader that closes the pipe early (``| head``) has had enough: that is no
    failure. Where the answer cannot be written it says why on one line.
    """
    if sys.stderr is None:
        sys.stderr = Path(os.devnull).open("w")  # noqa: SIM115
    if sys.stdout is None:
        print(
            "there is nowhere to write the answer: open standard output",
            file=sys.stderr,
        )
        sys.exit(2)
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
    # What the environment asks for, a language or completion, is heard by click's part.
    asked = any("EMCFORECAST_" in name for name in os.environ)
    if not asked and sys.argv[1:] in ([], ["-h"], ["--help"], ["help"]):
        print(help_text())
        return
    from emcforecast.cli.group import cli

    cli.main()
