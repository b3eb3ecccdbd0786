"""Which language to speak: as said, or as a browser prefers."""

from emcforecast.errors import InputError
from emcforecast.language.say import _
from emcforecast.language.table import ENGLISH, LANGUAGES

VARIABLE = "EMCFORECAST_LANGUAGE"
"""The environment variable that chooses the language of every command."""
_MOST_PREFERENCES = 20


def language_given(text: str, where: str = "--language") -> str:
    """Return the code of a language somebody asked for by name or code.

    Parameters
    ----------
    text : str
        "de", "DE" or "de-AT".
    where : str
        What it was given with, for the refusal.

    Raises
    ------
    InputError
        When there is no table for it.

    Examples
    --------
    >>> language_given("de-AT")
    'de'
    """
    code = text.strip().lower().replace("_", "-").partition("-")[0]
    if code not in LANGUAGES:
        raise InputError(
            _(
                "{where} {text!r}: there is no such language here; say one of {known}",
                where=where,
                text=text,
                known=", ".join(LANGUAGES),
            )
        )
    return code


def chosen_of(accepted: str) -> str:
    """Return the language a browser likes best of those there are.

    Parameters
    ----------
    accepted : str
        Its Accept-Language header, anybody's words: "de-AT,de;q=0.9,en;q=0.8".

    Returns
    -------
    str
        A code of `LANGUAGES`; English where nothing fits.

    Examples
    --------
    >>> chosen_of("fr;q=0.9, de-AT;q=0.8, en;q=0.5"), chosen_of("*")
    ('de', 'en')
    """
    wanted: list[tuple[float, str]] = []
    for part in accepted.split(",")[:_MOST_PREFERENCES]:
        name, _semicolon, weight = part.partition(";")
        code = name.strip().lower().partition("-")[0]
        liked = _weight(weight)
        if code in LANGUAGES and liked > 0.0:
            wanted.append((liked, code))
    return max(wanted, key=lambda one: one[0])[1] if wanted else ENGLISH


def _weight(text: str) -> float:
    """Read "q=0.8"; 1 where nothing is said, 0 for what is no weight."""
    text = text.strip()
    if not text:
        return 1.0
    try:
        weight = float(text.removeprefix("q=")[:6])
    except ValueError:
        return 0.0
    return weight if 0.0 <= weight <= 1.0 else 0.0
