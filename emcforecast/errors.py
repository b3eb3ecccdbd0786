"""What can go wrong, as a tree; every message says given, allowed, what to do.

EmcforecastError
└── InputError              the person's input cannot be used; exit code 2
    ├── WeatherError        a weather file or series is refused
    │   └── ContractError   a series breaks the weather-series contract
    ├── SettingError        an unknown storage setting, kind or parameter
    ├── SpeciesError        an unknown species
    ├── YardError           a yard file or readings log cannot be used
    └── ArchiveError        an archive cannot be asked or its reply not read
"""

import re

_CONTROLS = re.compile(
    "\r(?!\n)|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]"
)
"""Signs that move a screen's cursor, colour it, or turn its letters round."""
LONGEST = 600


def harmless(text: str) -> str:
    """Return text with a mark in place of every sign that would steer a screen.

    Line ends and tabs stay.

    Parameters
    ----------
    text : str
        With words from files, names and servers in it.

    Examples
    --------
    >>> harmless("oak" + chr(27) + "[2J")
    'oak�[2J'
    """
    return _CONTROLS.sub("\ufffd", text)


class EmcforecastError(Exception):
    """Base of every error this package raises on purpose.

    Parameters
    ----------
    message : str
        Becomes one line of at most 600 letters, without signs that steer a screen;
        of a longer one the middle is left out.
    """

    def __init__(self, message: str = "") -> None:
        line = " ".join(harmless(message).split())
        if len(line) > LONGEST:
            line = f"{line[: LONGEST - 202]} … {line[-199:]}"
        super().__init__(line)


class InputError(EmcforecastError, ValueError):
    """The person's input cannot be used: one line, and what to do next."""


class WeatherError(InputError):
    """A weather file or series is refused, with the reason."""


class ContractError(WeatherError):
    """A dataset breaks the weather-series contract."""


class SettingError(InputError):
    """A storage setting, kind or parameter is unknown or out of range."""


class SpeciesError(InputError):
    """A species is unknown."""


class YardError(InputError):
    """A yard file or a readings log cannot be used."""


class ArchiveError(InputError):
    """A weather archive cannot be asked, or its reply cannot be read."""
