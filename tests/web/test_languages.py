"""Pages in the visitor's language: as the browser prefers, or as picked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.language import speaking
from emcforecast.web.languages import _page_of_ours
from emcforecast.web.questions import key_of

PAGES = ("/", "/floor", "/dry", "/plan", "/places", "/yard/reading", "/yard/move")
GERMAN = {"Accept-Language": "de-AT,de;q=0.9,en;q=0.5"}


@pytest.mark.parametrize("address", PAGES)
def test_a_german_browser_is_answered_in_german(visitor, address):
    page = visitor.get(address, headers=GERMAN).get_data(as_text=True)
    assert '<html lang="de">' in page
    assert "Wie trocken" in page
    assert 'href="/language/en?back=' in page
    for word in ("Such as", "Where it", "Work it out", "Note it"):
        assert word not in page.partition("<main")[2], word


def test_any_other_browser_is_answered_in_english(visitor):
    page = visitor.get("/", headers={"Accept-Language": "fr"}).get_data(as_text=True)
    assert '<html lang="en">' in page
    assert ">Deutsch</a>" in page


def test_a_pick_counts_for_more_than_the_browser(visitor):
    answer = visitor.get("/language/de?back=/floor", headers={"Accept-Language": "en"})
    assert answer.status_code == 303
    assert answer.headers["Location"] == "/floor"
    page = visitor.get("/floor", headers={"Accept-Language": "en"})
    assert '<html lang="de">' in page.get_data(as_text=True)
    assert visitor.get("/language/xx").status_code == 404


def test_refusals_of_the_server_are_said_in_german(visitor):
    page = visitor.get("/nowhere", headers=GERMAN).get_data(as_text=True)
    assert "So eine Seite gibt es hier nicht." in page


def test_the_next_visitor_hears_english_again(visitor):
    visitor.get("/", headers=GERMAN)
    assert '<html lang="en">' in visitor.get("/").get_data(as_text=True)


def test_answers_of_two_languages_are_kept_apart():
    english = key_of("floor", {}, "")
    with speaking("de"):
        assert key_of("floor", {}, "") != english


@given(st.text(max_size=60) | st.sampled_from(["//a.example", "/\\a.example", "/a\n"]))
def test_a_pick_never_leads_to_another_server(back):
    page = _page_of_ours(back)
    assert page.startswith("/")
    assert not page.startswith(("//", "/\\"))
