"""The tables of sentences: one .po file a language, read when it is first spoken."""

import gettext
import io
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent
ENGLISH = "en"
LANGUAGES = (ENGLISH, *sorted(path.stem for path in FOLDER.glob("*.po")))
"""The code of every language there is a table for."""


@cache
def translations(language: str) -> gettext.GNUTranslations:
    """Read the table of a language other than English.

    Parameters
    ----------
    language : str
        A code of `LANGUAGES`.

    Returns
    -------
    GNUTranslations
        With the language's own rule for plurals; marked as doubtful is not said.
    """
    import polib

    found = polib.pofile(str(FOLDER / f"{language}.po"), encoding="utf-8")
    return gettext.GNUTranslations(io.BytesIO(found.to_binary()))
