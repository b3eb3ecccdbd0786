"""Say a sentence in the language spoken, with its fields and numbers."""

import gettext
import string
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from numbers import Real
from typing import Any

from emcforecast.language.table import ENGLISH, translations

_spoken: ContextVar[str] = ContextVar("language", default=ENGLISH)


def spoken_language() -> str:
    """Return the code of the language spoken in this thread or task."""
    return _spoken.get()


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language within a block, in this thread or task alone.

    Parameters
    ----------
    language : str
        A code of `LANGUAGES`.

    Examples
    --------
    >>> with speaking("de"):
    ...     number(0.5, ".2f")
    '0,50'
    """
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def speak(language: str) -> None:
    """Speak a language from now on, until a block of `speaking` around it ends.

    Parameters
    ----------
    language : str
        A code of `LANGUAGES`.
    """
    _spoken.set(language)


def N_(message: str) -> str:  # noqa: N802
    """Mark a sentence of a table for translation; `_` says it later."""
    return message


def NN_(one: str, many: str) -> tuple[str, str]:  # noqa: N802
    """Mark a sentence in singular and plural for translation; `n_` says it later."""
    return one, many


def NP_(context: str, message: str) -> str:  # noqa: N802
    """Mark a word that means something else elsewhere; `p_` says it later."""
    return message


def _(message: str, /, **fields: Any) -> str:
    """Say a sentence.

    Parameters
    ----------
    message : str
        English, with named fields: "{place}: {mc:.1f} %".
    **fields
        What to fill in; words must be in the language spoken already.

    Examples
    --------
    >>> _("{days} days", days=3)
    '3 days'
    """
    table = _table() if message else None  # Of "" a table says its header.
    return _filled(message if table is None else table.gettext(message), fields)


def p_(context: str, message: str, /, **fields: Any) -> str:
    """Say a sentence or word that English says alike for unlike things.

    Parameters as for `_`; `context` tells them apart: ("short month", "May").
    """
    table = _table() if message else None
    said = message if table is None else table.pgettext(context, message)
    return _filled(said, fields)


def n_(one: str, many: str, count: int, /, **fields: Any) -> str:
    """Say a sentence in singular or plural, by the rule of the language spoken.

    Parameters
    ----------
    one, many : str
        English for one and for more; ``{count}`` stands for the number.
    count : int
        How many.

    Examples
    --------
    >>> [n_("{count} day", "{count} days", n) for n in (1, 2)]
    ['1 day', '2 days']
    """
    table = _table()
    said = (
        (one if count == 1 else many)
        if table is None
        else table.ngettext(one, many, count)
    )
    return _filled(said, {"count": count, **fields})


def own_name(language: str) -> str:
    """Name a language as its speakers do, for a switch: "Deutsch".

    Examples
    --------
    >>> own_name("de"), own_name("en")
    ('Deutsch', 'English')
    """
    with speaking(language):
        return p_("this language's own name", "English")


def number(value: float, form: str = "") -> str:
    """Write a number with the marks of the language spoken.

    Parameters
    ----------
    value : float
    form : str
        As Python's `format` takes it: ".1f", "6.2f".

    Examples
    --------
    >>> number(1234.5, ",.1f")
    '1,234.5'
    """
    return _marked(format(value, form))


def in_template() -> Mapping[str, Callable[..., str]]:
    """Return what the templates of a page call, under the names used here."""
    return {"_": _, "n_": n_, "p_": p_, "number": number}


def _table() -> gettext.GNUTranslations | None:
    language = _spoken.get()
    return None if language == ENGLISH else translations(language)


def _marked(text: str) -> str:
    """Put the language's decimal and thousands marks in a written number."""
    if _table() is None:
        return text
    point, comma = p_("decimal mark", "."), p_("thousands mark", ",")
    return text.translate({ord("."): point, ord(","): comma})


class _Fields(string.Formatter):
    """Fill fields in, numbers as the language writes them."""

    def format_field(self, value: Any, form: str) -> str:
        said = format(value, form)
        return _marked(said) if isinstance(value, Real) else said


_FIELDS = _Fields()


def _filled(message: str, fields: Mapping[str, Any]) -> str:
    if not fields:
        return message
    if _spoken.get() == ENGLISH:
        return message.format(**fields)
    return _FIELDS.vformat(message, (), fields)
