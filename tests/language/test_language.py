"""Choosing and speaking a language; numbers and dates beside the Unicode data."""

from datetime import date, timedelta
from threading import Barrier, Thread

import pytest
from babel.dates import format_date, get_month_names
from babel.numbers import format_decimal
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from emcforecast import dates
from emcforecast.cli.group import cli
from emcforecast.errors import InputError
from emcforecast.language import (
    LANGUAGES,
    _,
    chosen_of,
    language_given,
    n_,
    number,
    own_name,
    speaking,
    spoken_language,
)
from emcforecast.report.words import in_hundred, listed

SOME_DAYS = [date(2026, 1, 1) + timedelta(days=17 * k) for k in range(60)]
DAY_FORMS = {"de": "d. MMMM y", "en": "d MMMM y"}


@pytest.mark.parametrize("language", DAY_FORMS)
def test_dates_are_those_of_the_language(language: str) -> None:
    with speaking(language):
        for day in SOME_DAYS:
            said = format_date(day, DAY_FORMS[language], locale=language)
            assert dates.spoken(day) == said


@pytest.mark.parametrize("language", LANGUAGES)
def test_months_are_those_of_the_language(language: str) -> None:
    names = get_month_names("wide", "format", language)
    short = get_month_names("abbreviated", "format", language)
    with speaking(language):
        for k in range(1, 13):
            assert dates.month(k) == names[k]
            assert short[k].rstrip(".").startswith(dates.short_month(k))


@given(st.floats(-1e6, 1e6), st.sampled_from(LANGUAGES))
def test_numbers_have_the_marks_of_the_language(value: float, language: str) -> None:
    value = round(value, 2)
    with speaking(language):
        said = number(value, ",.2f")
        assert said == format_decimal(value, "#,##0.00", locale=language)
        assert _("{mc:.2f} %", mc=value) == f"{said.replace(mark(language), '')} %"


def mark(language: str) -> str:
    """Between thousands."""
    return "." if language == "de" else ","


def test_plurals() -> None:
    with speaking("de"):
        said = [n_("{count} hour", "{count} hours", k) for k in (0, 1, 2)]
    assert said == ["0 Stunden", "1 Stunde", "2 Stunden"]


def test_small_words() -> None:
    with speaking("de"):
        assert in_hundred(0.896) == "89 von 100"
        assert listed(["a", "b", "c"], "or") == "a, b oder c"
        assert own_name("de") == "Deutsch"
    assert in_hundred(0.896) == "89 in 100"


def test_threads_speak_their_own_language_at_once() -> None:
    """Each has begun before any ends; a thread that says nothing speaks English."""
    heard: dict[str, list[str]] = {}
    wait = Barrier(3, timeout=30)

    def talk(name: str, language: str | None) -> None:
        if language is None:
            wait.wait()
            heard[name] = [dates.month(12) for _again in range(200)]
            return
        with speaking(language):
            wait.wait()
            heard[name] = [dates.month(12) for _again in range(200)]

    threads = [
        Thread(target=talk, args=one) for one in (("a", "de"), ("b", "en"), ("c", None))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert heard == {
        "a": ["Dezember"] * 200,
        "b": ["December"] * 200,
        "c": ["December"] * 200,
    }


def test_a_language_ends_with_its_block_whatever_happens() -> None:
    with pytest.raises(KeyError), speaking("de"):
        raise KeyError
    assert spoken_language() == "en"


@pytest.mark.parametrize(
    ("accepted", "language"),
    [
        ("de", "de"),
        ("de-AT,de;q=0.9,en;q=0.8", "de"),
        ("en-US,en;q=0.9,de;q=0.2", "en"),
        ("fr-FR,fr;q=0.9", "en"),
        ("fr;q=0.9, de;q=0.8", "de"),
        ("de;q=0", "en"),
        ("de;q=0.000, en", "en"),
        ("", "en"),
        ("*", "en"),
        ("DE", "de"),
    ],
)
def test_the_browsers_wish(accepted: str, language: str) -> None:
    assert chosen_of(accepted) == language


@given(st.text(max_size=300))
def test_any_wish_gives_a_language_there_is(accepted: str) -> None:
    assert chosen_of(accepted) in LANGUAGES


def test_an_unknown_language_is_refused() -> None:
    assert language_given("de_AT") == "de"
    with pytest.raises(InputError, match="say one of en, de"):
        language_given("xx")
    asked = CliRunner().invoke(cli, ["weight", "--language", "xx"])
    assert asked.exit_code == 2
    assert "'xx'" in asked.stderr


def test_only_option_and_variable_change_the_language(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    run = CliRunner()
    monkeypatch.setenv("LANG", "de_AT.UTF-8")
    monkeypatch.setenv("LC_ALL", "de_AT.UTF-8")
    plain = run.invoke(cli, ["weight"]).stdout
    assert "layers of 27 mm European larch" in plain
    german = run.invoke(cli, ["weight", "--language", "de"]).stdout
    assert "8 Lagen 27 mm Lärche" in german
    assert run.invoke(cli, ["weight"]).stdout == plain
    monkeypatch.setenv("EMCFORECAST_LANGUAGE", "de-DE")
    assert run.invoke(cli, ["weight"]).stdout == german
    assert run.invoke(cli, ["weight", "--language", "en"]).stdout == plain
