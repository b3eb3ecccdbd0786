"""The table of every language: complete, no more than that, and the same fields."""

import ast
import importlib.util
import re
import string
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import polib
import pytest
from babel.messages.plurals import get_plural

from emcforecast.language import LANGUAGES
from emcforecast.language.table import FOLDER

ROOT = Path(__file__).parents[2]
TABLES = sorted(FOLDER.glob("*.po"))
CALLS = {"_", "n_", "p_", "N_", "NN_", "NP_"}


@cache
def table_at(path: Path) -> polib.POFile:
    return polib.pofile(str(path))


def entries() -> Iterator[tuple[str, polib.POEntry]]:
    for path in TABLES:
        for entry in table_at(path):
            yield path.stem, entry


def fields(text: str) -> Counter[str]:
    """Count the fields of a sentence, each with how its number is written."""
    return Counter(
        f"{name}:{form}{conversion or ''}"
        for _, name, form, conversion in string.Formatter().parse(text)
        if name is not None
    )


def pairs(entry: polib.POEntry) -> list[tuple[str, str]]:
    """Return English and translation; the first plural is that of one."""
    if not entry.msgid_plural:
        return [(entry.msgid, entry.msgstr)]
    forms = [entry.msgstr_plural[k] for k in sorted(entry.msgstr_plural)]
    english = [entry.msgid, *[entry.msgid_plural] * (len(forms) - 1)]
    return list(zip(english, forms, strict=True))


def named(entry: polib.POEntry) -> str:
    return f"[{entry.msgctxt or ''}] {entry.msgid[:60]}"


def test_there_is_a_table_for_every_language_but_english() -> None:
    assert set(LANGUAGES) == {"en", *(path.stem for path in TABLES)}
    assert len(TABLES) >= 1


def test_tables_hold_all_that_can_be_said_and_no_more() -> None:
    spec = importlib.util.spec_from_file_location(
        "translate", ROOT / "docs" / "translate.py"
    )
    assert spec is not None
    assert spec.loader is not None
    translate = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(translate)
    said = set(translate.said())
    assert len(said) > 1000
    for path in [*TABLES, translate.TEMPLATE]:
        held = {translate.key_of(entry) for entry in table_at(path)}
        assert said - held == set(), f"{path.name} lacks these: docs/translate.py"
        assert held - said == set(), f"{path.name} has too much: docs/translate.py"


def test_every_entry_is_translated_and_none_is_doubtful() -> None:
    left = [
        f"{language}: {named(entry)}"
        for language, entry in entries()
        if not entry.translated() or entry.fuzzy or entry.obsolete
    ]
    assert not left


def test_every_translation_fills_in_the_same_fields_in_the_same_form() -> None:
    wrong = [
        f"{language}: {named(entry)}"
        for language, entry in entries()
        for english, said in pairs(entry)
        if fields(english) != fields(said)
    ]
    assert not wrong


def test_commands_and_options_are_the_same_in_every_language() -> None:
    def literal(text: str) -> Counter[str]:
        quoted = text.split("`")[1::2]
        return Counter([*quoted, *re.findall(r"--[a-z-]+", text)])

    wrong = [
        f"{language}: {named(entry)}"
        for language, entry in entries()
        for english, said in pairs(entry)
        if literal(english) != literal(said)
    ]
    assert not wrong


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_the_rule_for_plurals_is_the_languages_own(path: Path) -> None:
    """Against the plural rules of the Unicode consortium, as babel holds them."""
    rule = table_at(path).metadata["Plural-Forms"].rstrip("; ")
    assert rule == str(get_plural(path.stem)).rstrip("; ")


def test_no_sentence_is_filled_in_before_it_is_looked_up() -> None:
    """Neither an f-string as the key, nor a look-up hidden inside an f-string."""
    wrong = []
    for path in sorted((ROOT / "emcforecast").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if _is_call(node) and any(isinstance(a, ast.JoinedStr) for a in node.args):
                wrong.append(f"{path.name}:{node.lineno}")
            if isinstance(node, ast.JoinedStr):
                wrong += [
                    f"{path.name}:{inner.lineno}"
                    for inner in ast.walk(node)
                    if _is_call(inner)
                ]
    assert not wrong


def _is_call(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in CALLS
    )
