"""How one server is set up: whom it answers, where it keeps things, its bounds."""

from dataclasses import dataclass
from pathlib import Path

from emcforecast.units import UnitSystem

LARGEST_UPLOAD = 64_000_000
"""Most bytes of one uploaded file."""
LARGEST_FORM = 200_000
"""Most bytes of any other form."""
LONGEST_FIELD = 300
"""Most letters of one field."""


@dataclass(frozen=True)
class Serving:
    """What one server serves.

    Parameters
    ----------
    keep : Path
        The folder of its secret, its answers and its uploads; made when missing.
    yard : Path or None
        The yard file.
    folder : Path or None
        The folder whose weather files may be chosen; nothing outside it is opened.
    hosts : tuple of str
        Names it answers to, as a Host header says them without the port.
    token : str or None
        What a visitor must show once; None where only this computer can ask.
    secure : bool
        Whether it is reached through https, so that cookies are kept to that.
    units : {"us", "si"}
        Until a visitor chooses.
    workers : int
        Questions worked out at once.
    waiting : int
        Questions that may wait; more are refused for a while.
    """

    keep: Path
    yard: Path | None = None
    folder: Path | None = None
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "::1")
    token: str | None = None
    secure: bool = False
    units: UnitSystem = "si"
    workers: int = 2
    waiting: int = 24
