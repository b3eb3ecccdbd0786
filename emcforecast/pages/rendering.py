"""Templates: everything put into them is text until a template says otherwise."""

import re
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from emcforecast.language import in_template

_COMMAND = re.compile("`([^`]+)`")
FOLDER = Path(__file__).parent / "templates"


@dataclass(frozen=True)
class InBoth:
    """Words in both systems of units; a page shows the one that is switched on.

    Parameters
    ----------
    si, us : str
        The same words with °C and mm, and with °F and inches.
    """

    si: str
    us: str

    def __str__(self) -> str:
        """Return the words once where units make no difference, else both."""
        return self.si if self.si == self.us else f"{self.si} ({self.us})"

    def __html__(self) -> Markup:
        """Return the words as a template puts them in."""
        if self.si == self.us:
            return said(self.si)
        return Markup('<span class="si">{}</span><span class="us">{}</span>').format(
            said(self.si), said(self.us)
        )


def said(words: "str | InBoth") -> Markup:
    r"""Return a sentence as HTML: commands in `these` as code, numbers by their unit.

    Examples
    --------
    >>> said("Say `dry <demo>`: 7 %")
    Markup('Say <code>dry &lt;demo&gt;</code>: 7\xa0%')
    """
    if isinstance(words, InBoth):
        return words.__html__()
    whole = str(escape(words)).replace(" %", "\u00a0%")
    return Markup(_COMMAND.sub(r"<code>\1</code>", whole))


def _finalized(value: Any) -> Any:
    """Keep a number and its % sign on one line, in all that templates put in."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return value.replace(" %", "\u00a0%")
    return value


@dataclass(frozen=True)
class Section:
    """A part of a page.

    Parameters
    ----------
    name : str
        Its id on the page; letters, digits and hyphens.
    template : str
        The template's name, without its ending.
    context : dict
        What the template is given.
    """

    name: str
    template: str
    context: dict[str, Any] = field(default_factory=dict)

    def html(self) -> Markup:
        """Render it."""
        return render(self.template, name=self.name, **self.context)

    __html__ = html


@cache
def environment() -> Environment:
    """Return the templates of the pages: text is always escaped, nothing is guessed."""
    made = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finalized,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(in_template())
    made.filters["said"] = said
    return made


def render(template: str, **context: Any) -> Markup:
    """Render a template by its name, without its ending."""
    found = environment().get_template(f"{template}.html.jinja")
    return Markup(found.render(**context))
