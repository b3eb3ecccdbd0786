"""German answers: every number as in English, no English sentence, nothing too wide."""

import gettext
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.language.table import translations

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
    r"|days|wood|board|boards|place|dry|wet|core|shell)\b"
)
"""Words that no German sentence of these answers holds."""
NAMES = re.compile(r"`[^`]*`|--\S+( [A-Z]+)?|\S+\.(toml|csv|png|pdf)|https?:\S+")


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


@pytest.fixture
def missed(monkeypatch: pytest.MonkeyPatch) -> _Missed:
    table, ear = translations("de"), _Missed()
    monkeypatch.setattr(table, "_fallback", ear)
    return ear


def answer(words: tuple[str, ...], language: str, *more: str) -> str:
    asked = [*words, "--language", language, "--units", "si", "--quiet", *more]
    result = CliRunner().invoke(cli, asked)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words)[:30])
def test_no_english_sentence_is_left(
    words: tuple[str, ...], missed: _Missed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said = answer(words, "de")
    assert missed.heard == []
    text = NAMES.sub("", said.replace("\n", " "))
    text = re.sub(r"\[\d+\].*", "", text)
    assert LEFT_ENGLISH.findall(text) == []
    assert max(map(len, said.splitlines())) <= 80


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words)[:30])
def test_german_fits_a_phone(
    words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    wide = [line for line in answer(words, "de").splitlines() if len(line) > 40]
    assert [line for line in wide if " " in line.strip()] == []


@pytest.mark.parametrize("words", [FLOOR, DRY], ids=lambda words: words[0])
def test_every_number_is_the_english_one(
    words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    english, german = answer(words, "en"), answer(words, "de")
    assert numbers(english, ".") == numbers(german, ",")


def numbers(text: str, point: str) -> list[float]:
    found = re.findall(rf"-?\d+(?:{re.escape(point)}\d+)?", text)
    return sorted(float(one.replace(point, ".")) for one in found)


def test_json_has_the_same_keys_and_values_and_german_sentences() -> None:
    english, german = (
        json.loads(answer(("floor", "demo"), language, "--json"))
        for language in ("en", "de")
    )
    said = english["result"]["settings"]["shed"]["sentence"]
    sagt = german["result"]["settings"]["shed"]["sentence"]
    assert said.startswith("Under the open-sided shed 27 mm European larch gets down")
    assert sagt.startswith("Im offenen Schuppen kommt 27 mm Lärche")
    assert without_words(english) == without_words(german)


def without_words(value: Any) -> Any:
    """Leave the sentences out; keys, names and numbers stay."""
    if isinstance(value, dict):
        return {key: without_words(one) for key, one in value.items()}
    if isinstance(value, list):
        return [without_words(one) for one in value]
    return "…" if isinstance(value, str) and " " in value else value
