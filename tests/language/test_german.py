"""German answers: every number as in English, no English sentence, nothing too wide."""

import gettext
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.language.table import translations

pytestmark = pytest.mark.usefixtures("worked_out_once")
YARD = str(Path(__file__).parents[2] / "data" / "yard" / "yard.toml")
FLOOR = ("floor", "demo", "--months", "--air")
DRY = ("dry", "demo", "--stacked", "2026-04-01", "--risks", "--more")
COMMANDS = (
    FLOOR,
    DRY,
    (
        *("plan", "demo", "--stacked", "2026-04-01", "--need", "2027-07-01"),
        *("--use", "furniture", "--today", "2026-04-01"),
    ),
    ("yard", YARD, "--today", "2026-11-25", "--readings"),
    ("check", "demo"),
    ("settings",),
    ("settings", "loft"),
    ("weight", "--width", "4ft", "--length", "8ft"),
    ("movement", "--thickness", "8/4"),
    ("meter", "12", "--wood-temp", "30F", "--depth", "7mm", "--thickness", "27mm"),
    ("meter", "--shell", "10", "--core", "16"),
)
LEFT_ENGLISH = re.compile(
    r"\b(the|and|with|from|it|is|are|of|to|by|when|which|than|on|at|year|years|day"
    r"|days|wood|boards|place|wet|core|shell)\b"
)
"""Words that no German sentence of these answers holds."""
NAMES = re.compile(
    r"\b\w+\|\w+|\b\w+ = \w+|`[^`]*`|--\S+( [A-Z]+)?|\S+\.(toml|csv|png|pdf)|https?:\S+"
)


class _Missed(gettext.NullTranslations):
    """Hears of every sentence that the table does not hold."""

    def __init__(self) -> None:
        super().__init__()
        self.heard: list[str] = []

    def gettext(self, message: str) -> str:
        self.heard.append(message)
        return message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        self.heard.append(msgid2)
        return msgid1 if n == 1 else msgid2

    def pgettext(self, context: str, message: str) -> str:
        self.heard.append(f"[{context}] {message}")
        return message


@cache
def answered(
    words: tuple[str, ...], language: str, columns: int
) -> tuple[str, tuple[str, ...]]:
    """Return an answer, and the sentences that German lacked for it."""
    asked = [*words, "--language", language, "--units", "si", "--quiet"]
    ear = _Missed()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(columns))
        patch.setattr(translations("de"), "_fallback", ear)
        result = CliRunner().invoke(cli, asked)
    assert result.exit_code == 0, result.output
    return result.stdout, tuple(ear.heard)


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words)[:30])
def test_no_english_sentence_is_left(words: tuple[str, ...]) -> None:
    said, missed = answered(words, "de", 80)
    assert missed == ()
    text = NAMES.sub("", said.replace("\n", " "))
    assert LEFT_ENGLISH.findall(text) == []
    assert max(map(len, said.splitlines())) <= 80


ON_A_PHONE = [
    pytest.param(words, marks=[pytest.mark.slow] if words[0] == "yard" else [])
    for words in COMMANDS
    if words[0] != "check"  # As wide in English: names of files are copied whole.
]


@pytest.mark.parametrize("words", ON_A_PHONE, ids=lambda words: " ".join(words)[:30])
def test_german_fits_a_phone(words: tuple[str, ...]) -> None:
    lines = answered(words, "de", 40)[0].splitlines()
    assert [line for line in lines if len(line) > 40 and " " in line.strip()] == []


@pytest.mark.parametrize("words", [FLOOR, DRY], ids=lambda words: words[0])
def test_every_number_is_the_english_one(words: tuple[str, ...]) -> None:
    english, german = (answered(words, language, 80)[0] for language in ("en", "de"))
    assert numbers(english, ".") == numbers(german, ",")


def numbers(text: str, point: str) -> list[float]:
    found = re.findall(rf"-?\d+(?:{re.escape(point)}\d+)?", text)
    return sorted(float(one.replace(point, ".")) for one in found)


@pytest.mark.parametrize(
    ("words", "key", "english", "german"),
    [
        (
            ("movement", "--json"),
            "how",
            "published change of 0.00300 of its size per % MC",
            "veröffentlichte Änderung von 0,00300 des Maßes je % Holzfeuchte",
        ),
        (
            ("meter", "35", "--json"),
            "verdict",
            "wet, above 30, no number",
            "nass, über 30, keine Zahl",
        ),
    ],
)
def test_json_keeps_keys_and_values_and_says_german_sentences(
    words: tuple[str, ...], key: str, english: str, german: str
) -> None:
    said, sagt = (
        json.loads(answered(words, language, 80)[0]) for language in ("en", "de")
    )
    assert said["result"][key] == english
    assert sagt["result"][key] == german
    assert without_words(said) == without_words(sagt)


def without_words(value: Any) -> Any:
    """Leave the sentences out; keys, names and numbers stay."""
    if isinstance(value, dict):
        return {key: without_words(one) for key, one in value.items()}
    if isinstance(value, list):
        return [without_words(one) for one in value]
    return "…" if isinstance(value, str) and " " in value else value
