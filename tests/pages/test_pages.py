"""Pages as text: valid, whole, honest, and nothing from a file is ever markup."""

import re
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import html5lib
import pytest
from matplotlib.colors import to_hex

from emcforecast.answers.place import PlaceAnswers
from emcforecast.charts.ramp import colours
from emcforecast.charts.style import LIGHT
from emcforecast.conversions import celsius_to_fahrenheit
from emcforecast.dates import spoken
from emcforecast.pages.look import stylesheet
from emcforecast.report.document import plain

XHTML, SVG = "{http://www.w3.org/1999/xhtml}", "{http://www.w3.org/2000/svg}"
HOSTILE = "<script>alert(1)</script>{{ 7*7 }}"
"""A name and a note of the yard of these tests."""
BARE, WHOLE = 300_000, 1_500_000
"""Bytes a page may have without its pictures, and with them."""


@pytest.fixture(params=["place", "yard", "map"])
def html(request: pytest.FixtureRequest) -> str:
    text: str = request.getfixturevalue(f"{request.param}_html")
    return text


def parsed(html: str) -> Any:
    """Parse a page; an error of markup is an error here."""
    return html5lib.HTMLParser(strict=True).parse(html)


def text_of(element: Any, leave_out: tuple[str, ...] = ()) -> str:
    """Return the words of an element, without some elements, spaces as one."""
    parts = []

    def walk(one: Any) -> None:
        if one.tag in leave_out or not isinstance(one.tag, str):
            parts.append(one.tail or "")
            return
        parts.append(one.text or "")
        for child in one:
            walk(child)
        parts.append(
            f" {one.tail or ''}" if one.tag != f"{XHTML}code" else one.tail or ""
        )

    walk(element)
    return " ".join("".join(parts).replace("\xa0", " ").split())


def test_it_is_valid_and_every_id_is_there_once(html: str) -> None:
    tree = parsed(html)
    every = [e for e in tree.iter() if isinstance(e.tag, str)]
    ids = Counter(e.get("id") for e in every if e.get("id"))
    assert [name for name, count in ids.items() if count > 1] == []
    for one in every:
        for name in (one.get("aria-labelledby") or "").split():
            assert name in ids
        if one.tag == f"{XHTML}a":
            assert one.get("href", "").removeprefix("#") in ids
    links = re.findall(r"url\(#([^)]+)\)", html)
    assert links
    assert set(links) <= set(ids)


def test_pictures_have_real_text_a_title_and_a_description(html: str) -> None:
    pictures = list(parsed(html).iter(f"{SVG}svg"))
    assert len(pictures) >= 2
    for one in pictures:
        assert one.get("role") == "img"
        title, told = one.find(f"{SVG}title"), one.find(f"{SVG}desc")
        assert told is not None
        assert told.text
        assert title is not None
        assert title.text
        assert len(list(one.iter(f"{SVG}text"))) > 5
        assert f"{title.get('id')} {told.get('id')}" == one.get("aria-labelledby")


def test_it_loads_nothing_and_runs_nothing(html: str) -> None:
    tree = parsed(html)
    tags = {one.tag for one in tree.iter() if isinstance(one.tag, str)}
    bad = ("script", "link", "iframe", "img", "object", "embed", "base", "form")
    assert not tags & {f"{XHTML}{name}" for name in bad}
    assert "@import" not in html
    for one in tree.iter():
        for name, value in (one.attrib or {}).items():
            assert not str(name).startswith("on"), value
            if str(name).rpartition("}")[2] in ("href", "src"):
                assert value.startswith("#")
    assert not re.search(r"url\((?!#)", html)


def test_sizes(html: str) -> None:
    bare = re.sub(r"<svg .*?</svg>", "", html, flags=re.DOTALL)
    assert len(html.encode()) < WHOLE
    assert len(bare.encode()) < BARE


def test_names_and_notes_are_never_markup(yard_html: str) -> None:
    tree = parsed(yard_html)
    assert not list(tree.iter(f"{XHTML}script"))
    words = text_of(tree.find(f"{XHTML}body"))
    assert words.count(HOSTILE) >= 5
    assert "49" not in re.findall(r"}}(\d+)|\b(49)\b", words)
    assert "`yard` & more" in text_of(tree.find(f"{XHTML}head"))


def map_tones() -> list[str]:
    """Return every colour that stands for a moisture content on a light map."""
    return [
        to_hex(tone)
        for count in range(2, 16)
        for tone in colours(list(range(count + 1)), LIGHT)[0].colors
    ]


def test_colours_are_the_page_s_own(html: str, request: pytest.FixtureRequest) -> None:
    """Those of a map's contents apart, which mean the same on light and on dark."""
    tones = set() if "map" not in request.node.callspec.id else set(map_tones())
    for picture in re.findall(r"<svg .*?</svg>", html, flags=re.DOTALL):
        assert set(re.findall(r"#[0-9a-f]{6}\b", picture)) <= tones
    assert "prefers-color-scheme:dark" in stylesheet()


def test_every_sentence_is_the_command_s(place: PlaceAnswers, place_html: str) -> None:
    words = text_of(parsed(place_html).find(f"{XHTML}body"))
    for board in place.boards:
        for answered in (board.floor, board.dry, board.plan, board.movement):
            assert answered is not None
            for system in ("si", "us"):
                for line in answered.in_units(system).sentences:
                    assert line.replace("`", "") in words
                for line in answered.in_units(system).answer.cautions:
                    assert line in words
                for line in answered.in_units(system).answer.warnings:
                    assert line in words


NUMBER = re.compile(r"\d+(?:\.\d+)?")


def numbers_behind(value: Any, found: set[str]) -> None:
    """Gather each number of a document as a page may write it."""
    if isinstance(value, dict):
        for key, item in value.items():
            found.update(NUMBER.findall(str(key)))
            numbers_behind(item, found)
    elif isinstance(value, list):
        for item in value:
            numbers_behind(item, found)
    elif isinstance(value, str):
        found.update(part.lstrip("0") or "0" for part in NUMBER.findall(value))
        found.update(NUMBER.findall(value))
    elif isinstance(value, int | float) and not isinstance(value, bool):
        shares = (value, 100.0 * value) if abs(value) <= 1.0 else (value,)
        for number in (*shares, value / 25.4, celsius_to_fahrenheit(value)):
            for digits in (0, 1, 2):
                found.add(f"{abs(number):.{digits}f}")
            found.add(str(int(abs(number) + 1e-6)))
            found.add(f"{abs(number):g}")


@pytest.mark.parametrize("which", ["place", "yard"])
def test_every_number_is_the_document_s(
    which: str, request: pytest.FixtureRequest
) -> None:
    """Tables and words of the page against the JSON, number by number."""
    html, answers = (
        request.getfixturevalue(f"{which}_html"), request.getfixturevalue(which)
    )  # fmt: skip
    answer = answers.answer
    known: set[str] = set()
    numbers_behind(plain(answer.result), known)
    for line in (*answer.cautions, *answer.warnings):
        numbers_behind(line, known)
    main = next(parsed(html).iter(f"{XHTML}main"))
    left_out = (f"{SVG}svg",)
    told = {
        one.get("id"): text_of(one, left_out)
        for one in main.iter(f"{XHTML}section")
        if one.get("id") not in ("why", "hindcast")
    }
    assert len(told) > 3
    strange = {
        name: [n for n in NUMBER.findall(words) if n not in known]
        for name, words in told.items()
    }
    assert {name: rest for name, rest in strange.items() if rest} == {}


def rows_of(html: str, caption: str) -> list[list[str]]:
    """Return the cells of the table that a caption's id names, row by row."""
    for table in parsed(html).iter(f"{XHTML}table"):
        head = table.find(f"{XHTML}caption")
        if head is not None and head.get("id") == caption:
            body = table.find(f"{XHTML}tbody")
            return [[text_of(cell) for cell in row] for row in body]
    raise AssertionError(caption)


def test_each_cell_of_the_months_is_the_document_s(
    place: PlaceAnswers, place_html: str
) -> None:
    for k, board in enumerate(plain(place.answer.result)["boards"], 1):
        rows = rows_of(place_html, f"b{k}-floor-months")
        assert len(rows) == 12
        places = board["floor"]["settings"].values()
        for at, (_, *cells) in enumerate(rows):
            for cell, found in zip(cells, places, strict=True):
                low = found["months"][at]["lowest"]
                ends = [low["least"], low["p50"], low["most"]]
                assert cell == " ".join(f"{value:.1f}" for value in ends)


def test_each_date_is_the_document_s(place: PlaceAnswers, place_html: str) -> None:
    for k, board in enumerate(plain(place.answer.result)["boards"], 1):
        rows = rows_of(place_html, f"b{k}-dry-dates")
        found = {f"{s['mc']:g} %": s for s in board["dry"]["steps"]}
        found |= {f"{s['mc']:g} %": s for s in [board["dry"]["target"]]}
        assert len(rows) == len(found)
        for moisture, early, likely, late, shell, core, _ in rows:
            step = found[moisture]
            for words, day in zip(
                (early, likely, late), (step["p10"], step["p50"], step["p90"]),
                strict=True,
            ):  # fmt: skip
                said = "not reached"
                if day is not None:
                    said = f"{date.fromisoformat(day):%d %b %Y}".lstrip("0")
                assert words == said
            if step["shell"] is not None:
                assert (shell, core) == (f"{step['shell']:.0f}", f"{step['core']:.0f}")


def test_each_use_and_stay_is_the_document_s(
    place: PlaceAnswers, place_html: str
) -> None:
    for k, board in enumerate(plain(place.answer.result)["boards"], 1):
        uses = rows_of(place_html, f"b{k}-uses-uses")
        for (_, *cells), use in zip(uses, board["uses"], strict=True):
            said = [words.lower() for words in use["places"].values()]
            assert [cell.lower() for cell in cells] == said
        stays = rows_of(place_html, f"b{k}-plan-route")
        route = board["plan"]["route"]
        for (day, *_), leg in zip(stays, route, strict=False):
            assert day == spoken(date.fromisoformat(leg["from"]))
        assert stays[-1][-1].endswith(f"{board['plan']['moisture_by_need']:.1f} %")


def test_documented_hindcasts_are_those_of_the_page_on_them() -> None:
    """The table behind the page holds what docs/hindcast.md says."""
    from emcforecast import tables

    text = (Path(__file__).parents[2] / "docs" / "hindcast.md").read_text()
    for row in tables.rows("hindcast_found.csv"):
        line = next(x for x in text.splitlines() if x.startswith(f"| {row['place']}"))
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        assert cells[1].replace(",", "") == row["cases"]
        assert cells[2] == f"{row['held']} %"
        assert cells[6] == f"{row['date_error_days']} days"
        assert cells[7] == f"{row['rule_error_days']} days"
