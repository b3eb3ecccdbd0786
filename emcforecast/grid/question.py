"""What is asked of every cell of a grid."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast import bounds
from emcforecast.dates import parse_date
from emcforecast.errors import InputError
from emcforecast.forecast.floor import chosen_settings
from emcforecast.forecast.targets import target_of_number
from emcforecast.language import _
from emcforecast.storage.setting_text import SettingsLike, as_settings
from emcforecast.storage.settings import Setting
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species

FIRST_STEP = 20.0
"""% MC: the first of the contents whose day is looked for after stacking."""
ANY_LEAP_YEAR = 2024


@dataclass(frozen=True)
class GridQuestion:
    """One board in some places, asked of every cell.

    Parameters
    ----------
    board : Board
        Species and thickness.
    places : tuple of (str, Setting)
        Names and places, in order.
    targets : tuple of float
        Contents whose share of years is wanted, % of oven-dry mass.
    stacked : datetime64[D] or None
        Day of the year a green stack begins; its year does not matter.
    utc_offset : float or None
        Local standard time minus UTC (h) of every cell; from its longitude when None.
    """

    board: Board
    places: tuple[tuple[str, Setting], ...]
    targets: tuple[float, ...] = ()
    stacked: np.datetime64 | None = None
    utc_offset: float | None = None

    @property
    def steps(self) -> tuple[float, ...]:
        """Contents whose day is looked for after stacking, %; none without a date."""
        if self.stacked is None:
            return ()
        return (FIRST_STEP, *(t for t in self.targets if t != FIRST_STEP))


def grid_question(
    species: str | Species = "European larch",
    thickness: float | str = "27 mm",
    settings: SettingsLike = (),
    *,
    targets: float | Sequence[float] = (),
    stacked: str | None = None,
    utc_offset: float | None = None,
) -> GridQuestion:
    """Check what is asked, and name the places.

    Parameters
    ----------
    species, thickness
        As for `emcforecast.floor`.
    settings : Setting, str, mapping or sequence
        The places to work out; outdoor, shed and indoor as they usually are when left
        out.
    targets : float or sequence of float
        % of oven-dry mass.
    stacked : str, optional
        Day of the year, "04-01" or a date.
    utc_offset : float, optional
        h; from the longitude of each cell when left out.

    Raises
    ------
    InputError
        For what cannot be.

    Examples
    --------
    >>> [name for name, _ in grid_question(settings="shed=loft", targets=12).places]
    ['shed']
    """
    asked = as_settings(settings)
    chosen = chosen_settings(asked)
    places = tuple((k, v) for k, v in chosen.items() if v in asked or not asked)
    wanted = (targets,) if isinstance(targets, int | float) else tuple(targets)
    for target in wanted:
        target_of_number(target)
    if utc_offset is not None and not bounds.within(
        utc_offset, bounds.PLACE["utc_offset"]
    ):
        raise InputError(
            _(
                "utc_offset {utc_offset:g} is outside {allowed} h",
                utc_offset=utc_offset,
                allowed=bounds.spoken(bounds.PLACE["utc_offset"]),
            )
        )
    return GridQuestion(
        Board(species, thickness),
        places,
        tuple(dict.fromkeys(float(t) for t in wanted)),
        None if stacked is None else _day_of_year(stacked),
        utc_offset,
    )


def _day_of_year(text: str) -> np.datetime64:
    """Read "04-01", or a whole date whose year is left aside."""
    whole = text.strip()
    if whole.count("-") == 1:
        whole = f"{ANY_LEAP_YEAR}-{whole}"
    try:
        return np.datetime64(parse_date(whole), "D")
    except InputError:
        raise InputError(
            _(
                "stacked {text!r} is not a day of the year; write month and day: 04-01",
                text=text,
            )
        ) from None
