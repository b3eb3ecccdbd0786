"""One look for every picture: quiet axes, words on the lines, light or dark."""

import re
import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from matplotlib.dates import ConciseDateFormatter
from matplotlib.figure import Figure

from emcforecast.dates import SHORT_MONTHS, month, short_month

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MONTH_STARTS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
"""Day of a 365-day year on which each month begins."""


LETTERS_PER_INCH = 16.5
"""Of the footnote's type, measured on a wide line of text."""
NOTE, PHONE_NOTE, PHONE_INCHES = 7.5, 8.6, 5.0
"""Points of the footnote, and on pictures narrower than so many inches: 11 px on a
phone 390 px wide."""


@dataclass(frozen=True)
class Look:
    """Colours of one look; hexadecimal.

    Parameters
    ----------
    paper, ink, faint : str
        Background, text, grid.
    outdoor, shed, indoor : str
        One colour a setting, told apart without hue by their lightness too.
    mark : str
        Targets.
    """

    paper: str
    ink: str
    faint: str
    outdoor: str
    shed: str
    indoor: str
    mark: str

    def of(self, setting: str) -> str:
        """Return the colour of a setting."""
        return {"outdoor": self.outdoor, "shed": self.shed, "indoor": self.indoor}[
            setting
        ]


PLACE_COLOURS = ("paper", "ink", "faint", "outdoor", "shed", "indoor", "mark")
"""The names of a look's colours, as a page names its variables."""
LIGHT = Look(
    "#ffffff", "#22262b", "#d9dde2", "#12355b", "#2f6a2c", "#d07f38", "#6b7280"
)
DARK = Look("#14181d", "#e8eaed", "#343b44", "#c3e0fb", "#7fb564", "#c2602b", "#a3acb8")
DASHES: dict[str, Any] = {"outdoor": "-", "shed": (0, (7, 1.5)), "indoor": (0, (2, 1))}
"""One stroke a setting, so that colour is not all that tells them apart."""
OTHER_DASHES: Any = (0, (5, 1, 1, 1))
"""Of further places of one setting; their names stand beside their lines."""


def figure(
    look: Look = LIGHT, *, narrow: bool = False, height: float | None = None
) -> tuple[Figure, "Axes"]:
    """Return an empty figure with one quiet pair of axes.

    Parameters
    ----------
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.
    height : float, optional
        Inches.
    """
    size = (4.2, height or 4.8) if narrow else (9.0, height or 4.8)
    fig = Figure(figsize=size, facecolor=look.paper, layout="constrained")
    axes = fig.add_subplot()
    dress(axes, look)
    return fig, axes


def dress(axes: "Axes", look: Look) -> None:
    """Give a pair of axes the common look."""
    axes.set_facecolor(look.paper)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(look.faint)
    axes.tick_params(colors=look.ink, labelsize=9, length=0)
    axes.grid(axis="y", color=look.faint, linewidth=0.8)
    axes.set_axisbelow(True)
    for label in (axes.xaxis.label, axes.yaxis.label, axes.title):
        label.set_color(look.ink)


class DateFormatter(ConciseDateFormatter):
    """Dates along an axis, with the months of the language spoken when it is drawn."""

    def __init__(self, locator: Any) -> None:
        """Speak the language of now, whenever the picture is written."""
        super().__init__(locator)
        self._months = {
            english: short_month(number)
            for number, english in enumerate(SHORT_MONTHS, 1)
        }

    def format_ticks(self, values: Any) -> list[str]:
        """Label the ticks."""
        return [self._said(label) for label in super().format_ticks(values)]

    def get_offset(self) -> str:
        """Say what all ticks share, such as the year."""
        return self._said(super().get_offset())

    def _said(self, label: str) -> str:
        return re.sub(
            r"[A-Z][a-z]{2}", lambda word: self._months.get(word[0], word[0]), label
        )


def month_axis(axes: "Axes", look: Look) -> None:
    """Label a day-of-year axis (0 to 365) with months."""
    middles = [
        (start + end) / 2
        for start, end in zip(MONTH_STARTS, (*MONTH_STARTS[1:], 365), strict=True)
    ]
    axes.set_xlim(0, 365)
    axes.set_xticks(middles, [month(number)[0] for number in range(1, 13)])
    for start in MONTH_STARTS[1:]:
        axes.axvline(start, color=look.faint, linewidth=0.5, zorder=0)


NARROW_TITLE, WIDE_TITLE = 40, 96
"""Letters of a title on one line."""


def title(
    axes: "Axes", look: Look, finding: str, case: str = "", *, narrow: bool = False
) -> None:
    """Write the finding over the left end and the case under it, broken to fit."""
    # As a page says it, above the picture and broken by the reader's screen.
    axes.figure.set_label(f"{finding}\n{case}")
    letters = NARROW_TITLE if narrow else WIDE_TITLE
    lines = [
        textwrap.fill(part, letters, break_on_hyphens=False)
        for part in (finding, case)
        if part
    ]
    axes.set_title("\n".join(lines), loc="left", fontsize=11, color=look.ink)


def footnote(fig: Figure, look: Look, text: str) -> None:
    """Write where the picture comes from along its foot, broken to its width."""
    # As a page says it: line by line below finding and case, of which some have none.
    fig.set_label(f"{fig.get_label() or chr(10)}\n{text}")
    size = PHONE_NOTE if fig.get_figwidth() < PHONE_INCHES else NOTE
    letters = int(fig.get_figwidth() * LETTERS_PER_INCH * NOTE / size)
    lines = [textwrap.fill(line, letters) for line in text.splitlines()]
    fig.supxlabel("\n".join(lines), fontsize=size, color=look.mark, x=0.01, ha="left")
