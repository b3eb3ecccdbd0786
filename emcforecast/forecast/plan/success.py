"""When wood is ready for its use, and which place takes which wood."""

from collections.abc import Container, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import BoolArray, FloatArray
from emcforecast.forecast.targets import INDOOR_UP_TO
from emcforecast.storage.settings import Setting

if TYPE_CHECKING:
    from emcforecast.ensemble.air import StorageAir
    from emcforecast.forecast.targets import Target

ROOM_LIMIT = 25.0
"""Wood wetter than this (% MC, middle of the runs) is not taken into a closed or
heated place: it checks, and the place grows mould (common practice, no source)."""
EVEN = 2.5
"""Core less shell, % MC, at which a board counts as even. Targets for indoors must be:
work moves if it is not, a deck does not mind (common practice)."""
SURE, EVENS = 0.9, 0.5
"""Chances that count as safe and as even."""
NEARLY = 0.02
"""A chance no greater than this is none."""
DRIER_THAN_OUTDOORS = 3.0
"""So much drier than the driest month outdoors is no fault of a board that will live
there, % MC: boards and years differ."""
HAIR = 1.0e-9
"""For comparing shares and contents that are equal but for rounding."""


def is_ready(
    mean: FloatArray, shell: FloatArray, core: FloatArray, target: "Target"
) -> BoolArray:
    """Whether boards are ready for a target, elementwise: the one meaning of ready.

    Parameters
    ----------
    mean, shell, core : ndarray
        % MC.
    target : Target
        What they must be fit for; `least` says what is too dry, where that counts.

    Returns
    -------
    ndarray of bool
        At or below the target, not too dry, and even from shell to core. Evenness is
        asked for targets for indoors, and only of a core wetter than the shell: a skin
        damped by a wet week dries by itself in days. Wood is ready in time when it is
        so on the day it is needed.

    Examples
    --------
    >>> from emcforecast.forecast.targets import Target, target_of_number
    >>> nine = target_of_number(9.0)
    >>> shell, core = np.array([8.0, 6.0]), np.array([9.0, 10.0])
    >>> is_ready(np.array([8.5, 8.5]), shell, core, nine)
    array([ True, False])
    >>> deck = Target("decking", 12.0, 19.0, "practice", least=12.0)
    >>> mc = np.array([11.3, 15.0, 20.0])
    >>> is_ready(mc, mc, mc, deck)
    array([False,  True, False])
    """
    ready: BoolArray = mean <= target.high + HAIR
    if target.least is not None:
        ready = ready & (mean >= target.least - HAIR)
    if target.high <= INDOOR_UP_TO:
        ready = ready & (core - shell <= EVEN)
    return ready


def first_day(good: BoolArray) -> FloatArray:
    """Row of the first True down the first axis; infinite where there is none.

    Examples
    --------
    >>> first_day(np.array([[False, False], [True, False]]))
    array([ 1., inf])
    """
    result: FloatArray = np.where(good.any(axis=0), np.argmax(good, axis=0), np.inf)
    return result


def takes_green(setting: Setting) -> bool:
    """Whether green wood may be stacked there."""
    return setting.about.takes_green


def rain_unknown(air: "StorageAir", place: int) -> bool:
    """Whether boards there would be rained on, and the weather does not say."""
    film = air.tables.rain_film[place * air.draws : (place + 1) * air.draws]
    return not air.places[place].about.covered and not film.any()


def starting_places(
    air: "StorageAir",
    places: Sequence[int],
    moisture: float,
    avoided: Container[int] = (),
) -> list[int]:
    """Places in which a stack may begin.

    Parameters
    ----------
    air : StorageAir
        The air of the places.
    places : sequence of int
        Those at hand.
    moisture : float
        Middle of the runs when stacked, % MC.
    avoided : container of int
        Places not to begin in.

    Returns
    -------
    list of int
        Green wood begins in the open air where there is any, for a closed loft checks
        and moulds it; in a loft only where nothing airier is at hand. An uncovered
        stack under weather that tells no rain is among them only where nothing else
        is: nobody can say what the rain would do to it.
    """
    green = moisture > ROOM_LIMIT
    begin = [
        k
        for k in places
        if k not in avoided and (takes_green(air.places[k]) or not green)
    ]
    known = [k for k in begin if not rain_unknown(air, k)] or begin
    open_air = [k for k in known if air.places[k].about.open_air]
    return open_air if green and open_air else known


def may_enter(setting: Setting, moisture: ArrayLike) -> BoolArray:
    """Whether wood of a moisture content (% MC, middle of the runs) may come in."""
    wet = np.asarray(moisture, dtype=np.float64)
    return np.full(wet.shape, True) if takes_green(setting) else wet <= ROOM_LIMIT


def bounded_below(
    air: "StorageAir", places: Sequence[int], target: "Target"
) -> "tuple[Target, tuple[int, ...]]":
    """Find how dry is too dry for a target, and where wood gets so.

    Parameters
    ----------
    air : StorageAir
        The air of the places.
    places : sequence of int
        Those at hand.
    target : Target
        What the wood must be fit for.

    Returns
    -------
    target : Target
        With `least` set where its range is one of outdoor use, above `INDOOR_UP_TO`:
        its lower end, or where the outdoors at hand is drier in some month, that. A
        target for indoors has its own already.
    too_dry : tuple of int
        Places in which boards settle drier than that; none where all do.
    """
    if target.low is None or target.high <= INDOOR_UP_TO:
        return target, ()
    outdoors = [k for k in places if air.places[k].about.open_air]
    driest = [100.0 * air.driest_month_emc(k) - DRIER_THAN_OUTDOORS for k in outdoors]
    least = min([target.low, *driest])
    too_dry = tuple(k for k in places if 100.0 * air.mean_emc(k) < least)
    return (
        replace(target, least=least),
        too_dry if len(too_dry) < len(places) else (),
    )
