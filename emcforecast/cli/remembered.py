"""What `emcforecast here` keeps on this computer, as the other commands read it."""

import json
from pathlib import Path
from typing import Any

from platformdirs import user_config_path

from emcforecast.errors import InputError
from emcforecast.language import _

SHARED = frozenset(
    {
        *("latitude", "longitude", "elevation", "utc_offset", "day_first"),
        *("temperature_unit", "humidity_unit", "wind_unit", "precipitation_unit"),
        *("stamp", "place", "sheet", "columns"),
    }
)
"""Options of every command that reads weather: what its file does not say."""
KEPT = SHARED | {"weather", "units", "yard_file"}
"""What can be remembered: parameters of other commands by name."""


def file() -> Path:
    """Return the small file in which the place is remembered."""
    return user_config_path("emcforecast") / "here.json"


def kept() -> dict[str, Any]:
    """Return the options that are remembered, by parameter name; {} without any.

    Raises
    ------
    InputError
        When the file cannot be read or is not what `here` writes.
    """
    try:
        found = json.loads(file().read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, RecursionError) as error:
        raise InputError(
            _(
                "{file}: cannot be read ({error}); remove it, or say again "
                "what to remember with `emcforecast here WEATHER`",
                file=file(),
                error=error,
            )
        ) from error
    if not isinstance(found, dict) or not found.keys() <= KEPT:
        raise InputError(
            _(
                "{file}: not what `emcforecast here` writes; remove it and say again",
                file=file(),
            )
        )
    return found
