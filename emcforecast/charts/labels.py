"""Labels to print, cut out and pin to the stacks of a yard."""

import textwrap
from collections.abc import Iterator, Sequence

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from emcforecast.charts.style import LIGHT, Look

PAGE = (8.0, 10.5)
"""Inches: fits A4 and Letter, with margins that any printer leaves."""
COLUMNS, ROWS = 2, 4
NAME, TEXT = 17.0, 10.0
"""Sizes of letters, points: the name is read from some steps away."""
LETTERS = 46
INCHES_A_LINE = 0.2


def label_pages(
    labels: Sequence[tuple[str, Sequence[str]]], look: Look = LIGHT
) -> Iterator[Figure]:
    """Draw eight labels a page.

    Parameters
    ----------
    labels : sequence of (name, lines)
        What each label says.
    look : Look
        Colours.

    Yields
    ------
    Figure
        One page, with lines to cut along.
    """
    width, height = PAGE[0] / COLUMNS, PAGE[1] / ROWS
    for start in range(0, len(labels), COLUMNS * ROWS):
        page = Figure(figsize=PAGE, facecolor=look.paper)
        axes = page.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set(xlim=(0, PAGE[0]), ylim=(0, PAGE[1]))
        axes.axis("off")
        for k, (name, lines) in enumerate(labels[start : start + COLUMNS * ROWS]):
            left = (k % COLUMNS) * width
            top = PAGE[1] - (k // COLUMNS) * height
            axes.add_patch(
                Rectangle(
                    (left + 0.04, top - height + 0.04),
                    width - 0.08,
                    height - 0.08,
                    fill=False,
                    edgecolor=look.mark,
                    linestyle=(0, (4, 4)),
                    linewidth=0.8,
                )
            )
            axes.text(
                left + 0.2,
                top - 0.2,
                textwrap.shorten(name, LETTERS // 2, placeholder=" …"),
                fontsize=NAME,
                fontweight="bold",
                va="top",
                color=look.ink,
            )
            wrapped = [part for line in lines for part in textwrap.wrap(line, LETTERS)]
            for row, line in enumerate(wrapped[:9]):
                axes.text(
                    left + 0.2,
                    top - 0.6 - INCHES_A_LINE * row,
                    line,
                    fontsize=TEXT,
                    va="top",
                    color=look.ink,
                )
        yield page
