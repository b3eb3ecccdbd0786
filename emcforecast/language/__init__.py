"""The language of the answers: English in the code, every other in one table a file.

The English sentence is the key (GNU gettext): ``_("{place}: {mc:.1f} % MC", ...)``
looks it up in the table of the language spoken, ``emcforecast/language/de.po``, and
fills in the named fields, numbers with that language's decimal mark. A sentence is
always whole; its fields may stand in another order in another language. Which language
is spoken holds for one thread or task, so that a server answers many at once:

>>> with speaking("de"):
...     _("{low:.1f} to {high:.1f}", low=7.0, high=9.25)
'7,0 bis 9,2'

A page calls ``speaking(chosen_of(request.headers.get("Accept-Language", "")))`` about
what it says, or about what its visitor picked of `LANGUAGES` (`own_name` labels the
switch), and hands `in_template` to its templates. How a language is added:
docs/languages.md.
"""

from emcforecast.language.choose import VARIABLE, chosen_of, language_given
from emcforecast.language.nearest import did_you_mean
from emcforecast.language.say import (
    N_,
    NN_,
    NP_,
    _,
    in_template,
    n_,
    number,
    own_name,
    p_,
    speak,
    speaking,
    spoken_language,
)
from emcforecast.language.table import ENGLISH, LANGUAGES

__all__ = [
    "ENGLISH",
    "LANGUAGES",
    "NN_",
    "NP_",
    "N_",
    "VARIABLE",
    "_",
    "chosen_of",
    "did_you_mean",
    "in_template",
    "language_given",
    "n_",
    "number",
    "own_name",
    "p_",
    "speak",
    "speaking",
    "spoken_language",
]
