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


class EmcforecastError(Exception):
    """Base of every error this package raises on purpose."""


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


def did_you_mean(word: str, known: list[str] | tuple[str, ...]) -> str:
    """Return " Did you mean 'x'?" for the nearest known word, or "".

    Parameters
    ----------
    word : str
        What was given.
    known : list of str
        What is allowed.

    Returns
    -------
    str
        A sentence with a leading space, or the empty string.

    Examples
    --------
    >>> did_you_mean("lofft", ["loft", "barn"])
    " Did you mean 'loft'?"
    >>> did_you_mean("zzz", ["loft", "barn"])
    ''
    """
    import difflib

    near = difflib.get_close_matches(word[:60].lower(), known, n=1, cutoff=0.5)
    return f" Did you mean '{near[0]}'?" if near else ""
