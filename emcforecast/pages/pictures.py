"""The picture of an answer as a page shows it: wide, narrow, and its words beside."""

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from emcforecast.answers.answered import Answered
from emcforecast.charts.inline import inline
from emcforecast.charts.style import LIGHT
from emcforecast.pages.rendering import InBoth
from emcforecast.report.weather import source_line
from emcforecast.units import UnitSystem

PHONE_INCHES = 3.6
"""Width of a narrow picture: its smallest letters are 11 px on a phone of 390 px."""


@dataclass(frozen=True)
class Picture:
    """A picture in its two shapes with what stands above and below it.

    Parameters
    ----------
    wide, narrow : Markup
        The element for a wide and for a narrow screen; its colours are the page's.
        `wide` is "" where one shape serves both.
    finding : InBoth
        What it shows.
    case : str
        Of what.
    note : tuple of str
        What its lines are; the weather's source stands once on the page.
    """

    wide: Markup
    narrow: Markup
    finding: InBoth
    case: str
    note: tuple[str, ...]


def picture(
    in_both: dict[UnitSystem, Answered[Any]],
    name: str,
    *,
    one_shape: bool = False,
    title: str = "",
) -> Picture | None:
    """Draw an answer's picture; None where it has none.

    Parameters
    ----------
    in_both : dict of {"si", "us"} to Answered
        The same answer in both systems of units.
    name : str
        Begins the ids inside; unlike those of the page's other pictures.
    one_shape : bool
        Whether the narrow shape serves wide screens too: half the time and size.
    title : str
        For those who do not see it, where the picture itself has no finding.
    """
    draw, other = in_both["si"].draw, in_both["us"].draw
    if draw is None or other is None:
        return None
    weather = in_both["si"].answer.weather
    source = "" if weather is None else source_line(weather)
    narrow = inline(
        draw(LIGHT, True), f"{name}-narrow", title=title, inches=PHONE_INCHES
    )
    shown = (
        narrow if one_shape else inline(draw(LIGHT, False), f"{name}-wide", title=title)
    )
    us = shown.finding
    if shown.finding and in_both["si"].sentences != in_both["us"].sentences:
        us = str(other(LIGHT, False).get_label()).partition("\n")[0]
    return Picture(
        Markup("" if one_shape else shown.svg),
        Markup(narrow.svg),
        InBoth(shown.finding, us),
        shown.case,
        tuple(line for line in shown.note if line and line != source),
    )
