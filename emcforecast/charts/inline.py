"""A picture as part of a page: real text, the page's colours, no ids twice."""

import re
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from emcforecast.charts.drawn import drawn
from emcforecast.charts.style import LIGHT, PLACE_COLOURS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_HEAD = re.compile(r"^.*?(?=<svg )", re.DOTALL)
_ROOT = re.compile(r'<svg [^>]*?viewBox="([^"]*)"[^>]*>')
_LEFT_OUT = re.compile(
    r"<metadata>.*?</metadata>|<style type=\"text/css\">.*?</style>|<!--.*?-->",
    re.DOTALL,
)
_EMPTY = re.compile(r"<defs>\s*</defs>|<g>\s*</g>")
_FAMILY = re.compile(r"font-family: [^;\"]*;? ?")
_FONT = re.compile(r"font: ((?:[a-z]+ )*)([\d.]+px) [^;\"]*")
_ID = re.compile(r' id="([^"]*)"')
_USED = re.compile(r"(url\(#|href=\"#)([^\")]+)")
_LONG = re.compile(r"-?\d+\.\d{3,}")
_STEP = re.compile(r"\s*\b([MLHVCQSz])\b ?(?=[-\d\s\"])")
_PATH = re.compile(r' d="[^"]*"')
_SPACE = re.compile(r"\s*\n\s*")


@dataclass(frozen=True)
class Inline:
    """A picture to put into a page.

    Parameters
    ----------
    svg : str
        The element, with its title and description.
    finding, case : str
        What the picture shows and of what, to be written above it; "" where it has
        several titles.
    note : tuple of str
        What stands at its foot: what lines and bands are, and the source.
    """

    svg: str
    finding: str
    case: str
    note: tuple[str, ...]


def inline(
    figure: "Figure",
    name: str,
    *,
    title: str = "",
    description: str = "",
    inches: float | None = None,
) -> Inline:
    """Return a figure drawn in the light look as an element of a page.

    Its title and foot are taken out, for the page to write: they then break with the
    reader's screen and letters. Colours become the page's variables (`colour_names`).

    Parameters
    ----------
    figure : Figure
        Drawn in the light look; it is changed.
    name : str
        Begins every id inside; unlike those of the page's other pictures.
    title, description : str
        For those who do not see it; the finding, and the note, where left out.
    inches : float, optional
        A width to draw it at: the narrower, the larger its letters on the same screen.
    """
    finding, case, *note = str(figure.get_label()).split("\n")
    figure.supxlabel("")
    figure.suptitle("")
    titled = [axes for axes in figure.axes if axes.get_title(loc="left")]
    for axes in titled if not finding or len(titled) < 2 else ():
        axes.set_title("", loc="left")  # Of several panels each keeps its own.
    if inches is not None:
        figure.set_figwidth(inches)
    text = drawn(figure, "svg", letters=True).decode("utf-8")
    text = _LEFT_OUT.sub("", _HEAD.sub("", text))
    used = {found[1] for found in _USED.findall(text)}
    text = _ID.sub(lambda m: f' id="{name}-{m[1]}"' if m[1] in used else "", text)
    text = _USED.sub(lambda m: f"{m[1]}{name}-{m[2]}", text)
    text = text.replace("xlink:href", "href")
    text = _FONT.sub(_sized, _FAMILY.sub("", text))
    text = _LONG.sub(lambda m: f"{float(m[0]):.1f}".removesuffix(".0"), text)
    text = _PATH.sub(lambda m: _STEP.sub(r"\1", m[0]).replace("\n", ""), text)
    for colour, variable in colour_names().items():
        text = text.replace(colour, f"var(--{variable})")
    for _ in range(2):
        text = _EMPTY.sub("", text)
    told = escape(description or " ".join(note))
    head = (
        f'<svg role="img" aria-labelledby="{name}-title {name}-desc" '
        r'viewBox="\1" '
        'style="stroke-linejoin:round;stroke-linecap:butt">'
        f'<title id="{name}-title">{escape(title or finding)}</title>'
        f'<desc id="{name}-desc">{told}</desc>'
    )
    text = _ROOT.sub(lambda m: m.expand(head.replace("\\1", m[1])), text, count=1)
    return Inline(_SPACE.sub("\n", text).strip(), finding, case, tuple(note))


def _sized(found: re.Match[str]) -> str:
    """Keep size and weight of a text, and leave its letters to the page."""
    weight = "font-weight: bold; " if re.search("bold|700", found[1]) else ""
    return f"{weight}font-size: {found[2]}"


def colour_names() -> dict[str, str]:
    """Return the page's variable for each colour of the light look."""
    return {getattr(LIGHT, name): name for name in PLACE_COLOURS}
