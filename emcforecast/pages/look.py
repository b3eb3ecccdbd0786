"""The one stylesheet, with the colours of the pictures."""

from functools import cache
from pathlib import Path

from emcforecast.charts.style import DARK, LIGHT, PLACE_COLOURS, Look

SHEET = Path(__file__).parent / "static" / "page.css"


@cache
def stylesheet(boards: int = 1) -> str:
    """Return the whole style of a page.

    Parameters
    ----------
    boards : int
        How many boards its switch offers.
    """
    light, dark = _variables(LIGHT), _variables(DARK)
    shown = "".join(
        f"body:has(#board-{k}:checked) .board:not(.board-{k}){{display:none}}\n"
        for k in range(1, boards + 1)
        if boards > 1
    )
    return (
        f":root{{{light}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"{SHEET.read_text(encoding='utf-8')}{shown}"
    )


def _variables(look: Look) -> str:
    return "".join(f"--{name}:{getattr(look, name)};" for name in PLACE_COLOURS)
