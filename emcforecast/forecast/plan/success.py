"""When wood is fit for its use, and which place takes which wood."""

from collections.abc import Container
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import BoolArray, FloatArray
from emcforecast.storage.settings import Setting

if TYPE_CHECKING:
    from emcforecast.ensemble.air import AirBank
    from emcforecast.forecast.targets import Target


ROOM_LIMIT = 25.0
"""Wood wetter than this (% MC, middle of the runs) is not taken into a closed or
heated place: it checks, and the place grows mould (common practice, no source)."""
EVEN, EVEN_UP_TO = 2.5, 14.0
"""Core less shell, % MC, at which a board counts as even, and up to which target it
must be: work for indoors moves if it is not, a deck does not mind (common practice)."""
SURE, EVENS = 0.9, 0.5
"""Chances that count as safe and as even."""
NEARLY = 0.02
"""A chance no greater than this is none."""
AIRY = ("stack", "stack-roof", "shed", "loft")
"""Kinds of place that take green wood."""
OUTDOORS = ("stack", "stack-roof", "shed")
"""Kinds of place with the air in which a deck will live."""
ASIDE_OUTDOORS = 3.0
"""So much drier than the driest month outdoors is no fault of a board that will live
there, % MC: boards and years differ."""
HAIR = 1.0e-9
"""For comparing shares and contents that are equal but for rounding."""


def takes_green(setting: Setting) -> bool:
    """Whether green wood may be stacked there."""
    return setting.kind in AIRY


def rain_unknown(bank: "AirBank", number: int) -> bool:
    """Whether boards there would be rained on, and the weather does not say."""
    setting = bank.settings[number]
    return setting.kind == "stack" and not bank.rain_film[number].any()


def may_begin(
    bank: "AirBank", moisture: float, avoided: Container[int] = ()
) -> list[int]:
    """Numbers of the places in which a stack may begin.

    Parameters
    ----------
    bank : AirBank
        The places.
    moisture : float
        Middle of the runs when stacked, % MC.
    avoided : container of int
        Places not to begin in.

    Returns
    -------
    list of int
        An uncovered stack under weather that tells no rain is among them only where
        nothing else is: nobody can say what the rain would do to it.
    """
    open_to = [
        k
        for k, setting in enumerate(bank.settings)
        if k not in avoided and (takes_green(setting) or moisture <= ROOM_LIMIT)
    ]
    told = [k for k in open_to if not rain_unknown(bank, k)]
    return told or open_to


def may_enter(setting: Setting, moisture: ArrayLike) -> BoolArray:
    """Whether wood of a moisture content (% MC, middle of the runs) may come in."""
    wet = np.asarray(moisture, dtype=np.float64)
    return np.full(wet.shape, True) if takes_green(setting) else wet <= ROOM_LIMIT


def is_fit(
    mean: FloatArray, shell: FloatArray, core: FloatArray, target: "Target"
) -> BoolArray:
    """Whether boards are dry enough for the target and even, elementwise.

    Evenness is asked for targets up to `EVEN_UP_TO`, and only of a core wetter than
    the shell: a skin damped by a wet week dries by itself in days.

    Examples
    --------
    >>> from emcforecast.forecast.targets import target_of_number
    >>> nine = target_of_number(9.0)
    >>> is_fit(np.array([8.5, 8.5]), np.array([8.0, 6.0]), np.array([9.0, 10.0]), nine)
    array([ True, False])
    """
    dry: BoolArray = mean <= target.high + HAIR
    if target.high > EVEN_UP_TO:
        return dry
    return dry & (core - shell <= EVEN)


def holds(mean: FloatArray, target: "Target") -> BoolArray:
    """Whether boards are neither wetter nor, where that counts, drier than asked.

    Examples
    --------
    >>> from emcforecast.forecast.targets import Target
    >>> deck = Target("decking", 12.0, 19.0, "practice", least=12.0)
    >>> holds(np.array([11.3, 15.0, 20.0]), deck)
    array([False,  True, False])
    """
    within: BoolArray = mean <= target.high + HAIR
    if target.least is not None:
        within = within & (mean >= target.least - HAIR)
    return within


def not_too_dry(bank: "AirBank", target: "Target") -> "tuple[Target, tuple[int, ...]]":
    """Tell how dry is too dry for a target of outdoor use, and where wood gets so.

    Parameters
    ----------
    bank : AirBank
        The places.
    target : Target
        What the wood must be fit for.

    Returns
    -------
    target : Target
        With `least` set where its range is one of outdoor use, above `EVEN_UP_TO`:
        its lower end, or where the outdoors at hand is drier in some month, that.
    places : tuple of int
        Numbers of those in which boards rest drier than that; none where all do.
    """
    if target.low is None or target.high <= EVEN_UP_TO:
        return target, ()
    numbers = range(len(bank.settings))
    open_air = [k for k in numbers if bank.settings[k].kind in OUTDOORS]
    driest = [100.0 * bank.driest_month(k) - ASIDE_OUTDOORS for k in open_air]
    least = min([target.low, *driest])
    dry = tuple(k for k in numbers if 100.0 * bank.mean_rest(k) < least)
    return replace(target, least=least), dry if len(dry) < len(numbers) else ()


def first_day(good: BoolArray) -> FloatArray:
    """Row of the first True down the first axis; infinite where there is none.

    Examples
    --------
    >>> first_day(np.array([[False, False], [True, False]]))
    array([ 1., inf])
    """
    result: FloatArray = np.where(good.any(axis=0), np.argmax(good, axis=0), np.inf)
    return result
