"""Bring the tables of sentences up to date with the code, or check that they are.

``python docs/translate.py`` writes emcforecast/language/messages.pot, the list of all
that can be said, and gives every table beside it the new entries, empty, and takes from
it those that are said no more. ``--check`` only says what is missing or too much, and
fails then. ``python docs/translate.py xx`` begins the table of another language.
"""

import sys
from pathlib import Path

import polib
from babel.messages.extract import extract_from_dir
from babel.messages.plurals import get_plural

from emcforecast.cli.helped import helped
from emcforecast.language.table import FOLDER
from emcforecast.report.names import named

PACKAGE = FOLDER.parent
TEMPLATE = FOLDER / "messages.pot"
FUNCTIONS: dict[str, tuple[int | tuple[int, str], ...] | None] = {
    "_": None,
    "N_": None,
    "n_": (1, 2),
    "p_": ((1, "c"), 2),
    "NN_": (1, 2),
    "NP_": ((1, "c"), 2),
}
METHODS = [("**.py", "python"), ("**.jinja", "jinja2"), ("**.html", "jinja2")]
Key = tuple[str, str, str]
"""Context, English, English of many."""


def said() -> dict[Key, set[str]]:
    """Return everything the program can say, with the modules it is said in."""
    found: dict[Key, set[str]] = {}
    for where, _, message, _, context in extract_from_dir(
        PACKAGE, METHODS, keywords=FUNCTIONS
    ):
        one, many = (
            (message[0], message[1]) if isinstance(message, tuple) else (message, "")
        )
        module = str((Path("emcforecast") / where).as_posix())
        found.setdefault((context or "", one, many), set()).add(module)
    for context, word in named():
        found.setdefault((context, word, ""), set()).add("emcforecast/tables")
    for context, words in helped():
        found.setdefault((context, words, ""), set()).add("emcforecast/cli")
    return found


def key_of(entry: polib.POEntry) -> Key:
    """Return what an entry of a table translates."""
    return entry.msgctxt or "", entry.msgid, entry.msgid_plural or ""


def updated(table: polib.POFile, messages: dict[Key, set[str]]) -> polib.POFile:
    """Return a table with an entry for each message, in order, and no other."""
    known = {key_of(entry): entry for entry in table}
    plurals = _plurals(table)
    fresh = polib.POFile(wrapwidth=88)
    fresh.metadata, fresh.header = table.metadata, table.header
    for key, modules in sorted(messages.items(), key=lambda m: (sorted(m[1]), m[0])):
        context, one, many = key
        entry = known.get(key) or polib.POEntry(
            msgid=one,
            msgctxt=context or None,
            msgid_plural=many,
            msgstr_plural=dict.fromkeys(range(plurals), "") if many else {},
        )
        entry.occurrences = [(module, "") for module in sorted(modules)]
        fresh.append(entry)
    return fresh


def _plurals(table: polib.POFile) -> int:
    rule = table.metadata.get("Plural-Forms", "nplurals=2;")
    return int(rule.split("nplurals=")[1].split(";")[0])


def begun(language: str) -> polib.POFile:
    """Return an empty table of a language, with its rule for plurals."""
    table = polib.POFile(wrapwidth=88)
    table.metadata = {
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "Language": language,
        "Plural-Forms": f"{str(get_plural(language)).rstrip('; ')};",
    }
    return table


def main(words: list[str]) -> int:
    """Write or check the tables; return the exit code."""
    messages = said()
    template = polib.POFile(wrapwidth=88)
    template.metadata = {"Content-Type": "text/plain; charset=UTF-8"}
    texts = {TEMPLATE: str(updated(template, messages))}
    new = [word for word in words if not word.startswith("-")]
    for path in [*FOLDER.glob("*.po"), *(FOLDER / f"{code}.po" for code in new)]:
        table = polib.pofile(str(path)) if path.exists() else begun(path.stem)
        texts[path] = str(updated(table, messages))
    stale = [
        path
        for path, text in texts.items()
        if not path.exists() or path.read_text(encoding="utf-8") != text + "\n"
    ]
    if "--check" in words:
        for path in stale:
            print(f"{path.name} is stale: python docs/translate.py")
        return 1 if stale else 0
    for path, text in texts.items():
        path.write_text(text + "\n", encoding="utf-8")
        left = len(polib.pofile(str(path)).untranslated_entries())
        print(f"{path.name}: {len(messages)} entries, {left} without a translation")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
