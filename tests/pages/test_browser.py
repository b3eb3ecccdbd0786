"""Pages in a real browser: Debian's Chromium, from a file, without a network.

A browser draws what a person sees: nothing else tells whether a switch works without
script, whether a page fits a phone, or whether a printed line is cut.
"""

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest

pytestmark = pytest.mark.slow

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
PHONE = {"width": 360, "height": 740}
WIDE = {"width": 1440, "height": 900}
FOCUSABLE = "a[href], input, summary, [tabindex='0']"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("no browser: .ci/run installs chromium, and it is not there")
        pytest.skip("NO BROWSER HERE: apt-get install chromium, then run this again")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as kit:
        made = kit.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield made
        made.close()


@pytest.fixture(params=["place", "yard", "map"])
def opened(
    request: pytest.FixtureRequest, browser: Any, pages: dict[str, Path]
) -> Iterator[Any]:
    """Open a page; what it asks of a host, or says to the console, is an error."""
    page = browser.new_page(viewport=WIDE)
    asked, told = [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("console", lambda one: told.append(one.text))
    page.on("pageerror", lambda one: told.append(str(one)))
    page.goto(pages[request.param].as_uri())
    page.name = request.param
    yield page
    assert told == []
    assert [url for url in asked if not url.startswith("file:")] == []
    page.close()


def widths(page: Any) -> tuple[int, int]:
    found = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    return found[0], found[1]


@pytest.mark.parametrize("letters", [100, 200])
@pytest.mark.parametrize("width", [360, 768, 1440])
def test_nothing_moves_sideways(opened: Any, width: int, letters: int) -> None:
    opened.set_viewport_size({"width": width, "height": 800})
    opened.evaluate(f"document.documentElement.style.fontSize = '{letters}%'")
    inside, window = widths(opened)
    assert inside <= window


@pytest.mark.parametrize(
    ("size", "scheme"), [(PHONE, "light"), (WIDE, "dark")], ids=["phone", "wide"]
)
def test_nothing_stands_in_anybodys_way(
    opened: Any, size: dict[str, int], scheme: str
) -> None:
    """axe-core, the checker of accessibility, finds nothing at all."""
    from axe_playwright_python.sync_playwright import Axe

    opened.set_viewport_size(size)
    opened.emulate_media(color_scheme=scheme)
    opened.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = Axe().run(opened).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:200]) for one in found] == []


def test_units_switch_without_script(browser: Any, pages: dict[str, Path]) -> None:
    for name, path in pages.items():
        if name == "map":
            continue  # Moisture alone: it is in % in any units.
        context = browser.new_context(java_script_enabled=False, viewport=PHONE)
        page = context.new_page()
        page.goto(path.as_uri())
        for first, second in (("si", "us"), ("us", "si")):
            page.check(f"#units-{first}")
            assert page.locator(f".{first} >> visible=true").count() > 1, name
            assert page.locator(f".{second} >> visible=true").count() == 0
        context.close()


def test_boards_switch_without_script(browser: Any, pages: dict[str, Path]) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(pages["place"].as_uri())
    for shown, hidden in ((1, 2), (2, 1)):
        page.check(f"#board-{shown}")
        assert page.locator(f".board-{shown}").is_visible()
        assert not page.locator(f".board-{hidden}").is_visible()
    context.close()


def test_the_keyboard_reaches_everything(opened: Any) -> None:
    """Tab comes by each thing that can be used, and it is seen where one is."""
    groups = opened.evaluate(
        f"""() => {{
          const seen = new Set();
          for (const e of document.querySelectorAll("{FOCUSABLE}")) {{
            if (!e.checkVisibility()) continue;
            seen.add(e.type === 'radio' ? e.name : e);
          }}
          return seen.size;
        }}"""
    )
    met = set()
    for _ in range(groups + 5):
        opened.keyboard.press("Tab")
        found = opened.evaluate(
            """() => { const e = document.activeElement, s = getComputedStyle(e);
            if (e === document.body) return null;
            const all = [...document.querySelectorAll('*')];
            const r = e.getBoundingClientRect();
            return [e.type === 'radio' ? e.name : all.indexOf(e),
                    s.outlineStyle, parseFloat(s.outlineWidth), r.width, r.height]; }"""
        )
        if found is None:
            continue
        assert found[1] != "none"
        assert found[2] >= 2
        assert min(found[3], found[4]) > 0
        met.add(found[0])
    assert len(met) == groups
    if opened.name == "map":
        return  # It has nothing to switch.
    opened.focus("#units-si")
    opened.keyboard.press("ArrowRight")
    assert opened.is_checked("#units-us")


SHEETS = {"place": (3, 9), "yard": (3, 8), "map": (1, 2)}
"""Printed sheets of each page, at least and at most."""


def words_of(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]{4,}", normalize("NFKC", text))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_without_cut_lines_or_empty_pages(
    opened: Any, paper: str, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    opened.pdf(path=tmp_path / "page.pdf", format=paper)
    sheets = [page.extract_text() for page in PdfReader(tmp_path / "page.pdf").pages]
    least, most = SHEETS[opened.name]
    assert least <= len(sheets) <= most
    for sheet in sheets:
        assert len(words_of(sheet)) > 5
    opened.emulate_media(media="print")
    shown = set(words_of(opened.inner_text("main")))
    printed = set(words_of(" ".join(sheets)))
    assert len(shown) > (30 if opened.name == "map" else 100)
    assert shown - printed == set()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_picture_takes_the_colours_of_the_page(opened: Any, scheme: str) -> None:
    from emcforecast.charts.style import DARK, LIGHT

    look = LIGHT if scheme == "light" else DARK
    opened.emulate_media(color_scheme=scheme)
    paper = opened.evaluate(
        "getComputedStyle(document.querySelector('figure svg path')).fill"
    )
    red, green, blue = (int(look.paper[k : k + 2], 16) for k in (1, 3, 5))
    assert paper == f"rgb({red}, {green}, {blue})"
    assert opened.evaluate("getComputedStyle(document.body).color") == (
        "rgb({}, {}, {})".format(*(int(look.ink[k : k + 2], 16) for k in (1, 3, 5)))
    )


def test_letters_of_a_phone_s_pictures_can_be_read(opened: Any) -> None:
    """No text of a picture is under 11 px on a phone 390 px wide."""
    opened.set_viewport_size({"width": 390, "height": 800})
    least = opened.evaluate(
        """() => Math.min(...[...document.querySelectorAll('figure svg')]
          .filter(s => s.checkVisibility()).flatMap(s => {
            const scale = s.getBoundingClientRect().width / s.viewBox.baseVal.width;
            return [...s.querySelectorAll('text')].map(
              t => parseFloat(getComputedStyle(t).fontSize) * scale); }))"""
    )
    assert least >= 11.0
