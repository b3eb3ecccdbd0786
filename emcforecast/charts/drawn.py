"""A figure as the bytes of a file; the same input gives the same bytes."""

import warnings
from io import BytesIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDE_DPI, NARROW_DPI, NARROW_INCHES = 150, 300, 5.0
"""Dots an inch; pictures up to so wide are for phones, whose dots are finer."""


def drawn(figure: "Figure", ending: str = "png", *, letters: bool = False) -> bytes:
    """Return a figure as a PNG, SVG or PDF file.

    Parameters
    ----------
    figure : Figure
        What was drawn; text in it is taken as it stands, never as a formula.
    ending : {"png", "svg", "pdf"}
        The kind of file.
    letters : bool
        Whether the text of an SVG stays text, in the reader's letters; else it is
        drawn, alike everywhere.
    """
    from matplotlib import rc_context
    from matplotlib.text import Text

    metadata = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(ending)
    for text in figure.findobj(Text):
        text.set_parse_math(False)  # A $ in a file's name is no formula.
        # Bytes of a name that are no letters cannot be drawn.
        text.set_text(text.get_text().encode("utf-8", "replace").decode("utf-8"))
    file = BytesIO()
    rc: dict[Any, Any] = {
        "svg.hashsalt": "emcforecast",
        "svg.fonttype": "none" if letters else "path",
    }
    with warnings.catch_warnings(), rc_context(rc):
        # Letters the font lacks are drawn as boxes; the picture is whole without.
        warnings.filterwarnings("ignore", "Glyph .* missing")
        dpi = WIDE_DPI if figure.get_figwidth() > NARROW_INCHES else NARROW_DPI
        figure.savefig(file, format=ending, dpi=dpi, metadata=metadata)
    return file.getvalue()
