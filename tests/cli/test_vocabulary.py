"""Every printed answer is read for words that blur, and for sentences too long."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli

pytestmark = pytest.mark.usefixtures("worked_out_once")
FORBIDDEN = (
    *(r"\bin the mean\b", r"\breckon", r"\bluck", r"\bcautious", r"\bmiddling\b"),
    *(r"\bto be sure\b", r"\bto be safe\b", r"\b(comes?|at) to? ?rest\b", r"\brests\b"),
    *(r"\bRests on\b", r"\bgets there\b", r"\bget there\b", r"\bwere the place\b"),
    *(r"\btold\b", r"\btells\b", r"\blies\b", r"\btouch and go\b", r"\b100 in 100\b"),
    *(r"\beight (in|of) ten\b", r"\btimes in 10\b", r"\bstorage setting\b"),
)
"""Archaic or private words, and words that the answers say in another way."""
MOST_WORDS = 30
YARD = Path(__file__).parents[2] / "data" / "yard" / "yard.toml"
ANSWERS = (
    ("floor", "demo", "--months", "--air"),
    ("floor", "demo", "--target", "12", "--setting", "shed=loft"),
    ("dry", "demo", "--stacked", "2026-04-01", "--risks", "--more"),
    (
        *("dry", "demo", "--stacked", "2026-04-01", "--setting", "shed", "--more"),
        *("--resaw", "2026-11-01=12mm", "--reading", "2026-06-10=24"),
        *("--today", "2026-06-20"),
    ),
    (
        *("plan", "demo", "--stacked", "2026-04-01", "--need", "2027-07-01"),
        *("--use", "furniture"),
    ),
    (
        *("plan", "demo", "--stacked", "2026-04-01", "--need", "2027-04-01"),
        *("--target", "12"),
    ),
    ("yard", str(YARD), "--today", "2026-11-25", "--readings"),
    ("check", "demo"),
    ("settings",),
    ("settings", "loft"),
    ("species", "white oak"),
    ("meter", "12", "--wood-temp", "30F"),
    ("meter", "--shell", "10", "--core", "16"),
    ("weight", "--width", "4ft", "--length", "8ft"),
    ("movement", "--thickness", "8/4"),
)


def sentences(text: str) -> list[str]:
    """Return the running sentences: tables and lists end theirs at the line."""
    blocks, block = [], ""
    for line in text.splitlines():
        table = re.search(r"\S {2,}\S", line)
        if table or not line.strip():
            blocks.append(block)
            block = ""
            continue
        if re.match(r"^(\S+( \S+)?: |- )", line):
            blocks.append(block)
            block = ""
        block += f" {line.strip()}"
    blocks.append(block)
    return [
        piece
        for block in blocks
        for piece in re.split(r"(?<=[a-z%)\d`])[.;:](?= |$)|\?", block)
        if piece.strip()
    ]


@pytest.mark.parametrize("words", ANSWERS, ids=" ".join)
def test_answers_are_said_in_plain_short_sentences(words: tuple[str, ...]) -> None:
    result = CliRunner().invoke(cli, list(words))
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    found = [word for word in FORBIDDEN if re.search(word, text)]
    assert not found, found
    long = [s for s in sentences(result.stdout) if len(s.split()) > MOST_WORDS]
    assert not long, long


def test_first_screens_are_short() -> None:
    """At most twelve lines of `floor`, fifteen of `dry` before what it is based on."""
    for words, most in ((ANSWERS[0][:2], 12), (ANSWERS[2][:4], 15)):
        lines = CliRunner().invoke(cli, list(words)).stdout.splitlines()
        based = next(k for k, line in enumerate(lines) if line.startswith("Based on"))
        assert based <= most
