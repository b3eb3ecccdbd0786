"""One question answered: the words, the JSON, what was found and its picture."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from emcforecast.report.answer import Answer
from emcforecast.units import UnitSystem

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look

Found = TypeVar("Found", covariant=True)
Draw = Callable[["Look", bool], "Figure"]
"""Draws a picture, given the look and whether it is for a phone."""


@dataclass(frozen=True)
class Answered(Generic[Found]):
    """What a question was answered with.

    Parameters
    ----------
    answer : Answer
        What there is to say: JSON result, text, rows, warnings, cautions.
    found : object
        The result the words are made from, such as a `Floor`.
    sentences : tuple of str
        The answer in whole sentences, the first one first; empty where a question is
        answered by a table.
    draw : callable or None
        Draws the picture from a look and whether it is for a phone; matplotlib is
        imported only then. None where there is none.
    say : callable or None
        Says what was found again, in another system of units; nothing is worked out
        anew. None where units make no difference.
    """

    answer: Answer
    found: Found
    sentences: tuple[str, ...] = ()
    draw: Draw | None = None
    say: "Callable[[UnitSystem], Answered[Found]] | None" = None

    def in_units(self, system: UnitSystem) -> "Answered[Found]":
        """Return the same answer said in one system of units."""
        return self if self.say is None else self.say(system)
