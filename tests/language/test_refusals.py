"""Refusals, help and progress are said in the language spoken, every one of them."""

import ast
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import emcforecast.errors
from emcforecast.cli.group import cli
from emcforecast.cli.helped import helped
from emcforecast.language import VARIABLE, speaking, spoken_language
from emcforecast.language.table import translations
from emcforecast.units import parse_length
from tests.language.test_german import LEFT_ENGLISH, NAMES

PACKAGE = Path(emcforecast.__file__).parent
REFUSALS = {
    name
    for name, kind in vars(emcforecast.errors).items()
    if isinstance(kind, type) and issubclass(kind, emcforecast.errors.EmcforecastError)
} | {"UsageError", "BadParameter"}
LOOK_UPS = {"_", "N_", "n_", "p_", "NN_", "NP_", "say"}


def said_plainly(node: ast.AST) -> list[ast.AST]:
    """Return the sentences within a node that pass by the table of sentences."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") in LOOK_UPS:
        return []
    text = ""
    if isinstance(node, ast.JoinedStr):
        parts = [part.value for part in node.values if isinstance(part, ast.Constant)]
        text = " ".join(map(str, parts))
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        text = node.value
    if len(re.findall(r"[A-Za-z]{2,}", text)) >= 2:
        return [node]
    return [
        found for child in ast.iter_child_nodes(node) for found in said_plainly(child)
    ]


def test_no_refusal_passes_by_the_table_of_sentences() -> None:
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            if name in REFUSALS or name == "error_class":
                found += [f"{path.name}:{one.lineno}" for one in said_plainly(node)]
    assert not found


@pytest.mark.parametrize(
    "words",
    [
        ("floor",),
        ("floor", "demo", "--bogus"),
        ("floor", "demo", "--thickness"),
        ("floor", "demo", "--air=3"),
        ("floor", "demo", "--units", "kg"),
        ("floor", "demo", "--target", "99"),
        ("floor", "demo", "--target", "wet"),
        ("floor", "demo", "extra"),
        ("floor", "demo", "--species", "unobtanium"),
        ("floor", "demo", "--thickness", "0"),
        ("floor", "demo", "--setting", "attic=loft"),
        ("floor", "demo", "--setting", "shed=loft,ventilation=9999"),
        ("floor", "no-such-file.csv"),
        ("dry", "demo", "--stacked", "2026-13-01"),
        ("dry", "demo", "--move", "sometime"),
        ("plan", "demo", "--need", "2026-01-01", "--stacked", "2026-04-01"),
        ("meter", "--oven", "136g"),
        ("meter", "--oven", "136g", "100"),
        ("weight", "--layers", "2.5"),
        ("yard", "no-such-yard.toml"),
        ("nothing",),
    ],
    ids=" ".join,
)
def test_a_refusal_is_german_where_german_is_asked_for(
    words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "de")
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 2
    assert len(done.stderr.strip().splitlines()) == 1
    plain = NAMES.sub("", re.sub(r"'[^']*'", "", done.stderr))
    assert not LEFT_ENGLISH.findall(plain)
    assert spoken_language() == "en"


def test_the_language_asked_for_holds_wherever_it_stands() -> None:
    last = CliRunner().invoke(cli, ["floor", "--bogus", "--language", "de"])
    first = CliRunner().invoke(cli, ["floor", "--language=de", "--bogus"])
    assert last.stderr == first.stderr
    assert last.stderr.startswith("floor: Es gibt keine Option '--bogus'.")
    assert spoken_language() == "en"


def test_help_is_german_where_german_is_asked_for() -> None:
    done = CliRunner().invoke(cli, ["dry", "--language", "de", "--help"])
    assert done.exit_code == 0
    assert done.stdout.startswith("Aufruf: cli dry [OPTIONEN] WETTER")
    assert not LEFT_ENGLISH.findall(
        NAMES.sub("", re.sub(r"'[^']*'|24,core", "", done.stdout))
    )


def test_all_that_help_says_is_in_the_table() -> None:
    table = translations("de")
    held = table._catalog  # type: ignore[attr-defined]
    assert not [one for one in helped() if "\x04".join(one) not in held]


def test_a_refusal_in_python_is_said_in_the_language_spoken() -> None:
    with speaking("de"), pytest.raises(ValueError, match="ist nicht lesbar"):
        parse_length("long", "si")


@pytest.mark.parametrize("words", [(), ("help",), ("--help",), ("yard",)], ids=" ".join)
def test_a_command_line_of_nothing_shows_help(
    words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "de")
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 0
    assert done.stdout.startswith("Aufruf: ")
    assert len(done.stdout.splitlines()) > 10
