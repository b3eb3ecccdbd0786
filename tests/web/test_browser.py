"""The pages in a real browser: phone-sized, by keyboard, two tabs, killed, offline."""

import json
import re
import warnings
from pathlib import Path

import pytest
from browser import CHROMIUM, Server

pytestmark = pytest.mark.slow
PHONE = {"width": 360, "height": 740}
OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"
PAGES = (
    "/",
    "/floor",
    "/floor?weather=demo",
    "/dry?weather=demo&stacked=2026-04-01&setting=shed",
    "/plan?weather=demo&stacked=2026-04-01&need=2028-03-01&use=furniture",
    "/plan",
    "/yard",
    "/yard/reading",
    "/yard/add",
    "/yard/move",
    "/places",
    "/dry?species=oka",
    "/offline",
)


@pytest.fixture(scope="module")
def chromium():
    if not CHROMIUM.exists():
        warnings.warn(f"NOT CHECKED in a browser: {CHROMIUM} is missing", stacklevel=1)
        pytest.skip("no browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=str(CHROMIUM), args=["--no-sandbox"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("served")
    (made / "yard").mkdir()
    (made / "yard" / "yard.toml").write_text(
        """name = "Test yard"
units = "si"
[weather]
file = "demo"
[[stack]]
name = "larch-1"
species = "European larch"
thickness = "27 mm"
stacked = 2026-04-01
setting = "shed"
use = "boat"
"""
    )
    return made


@pytest.fixture(scope="module")
def server(folder):
    found = Server(folder / "yard" / "yard.toml", folder / "keep").start()
    yield found
    found.stop()


@pytest.fixture
def phone(chromium, server):
    context = chromium.new_context(viewport=PHONE, base_url=server.address)
    page = context.new_page()
    page.said = []
    page.on("console", lambda m: page.said.append(m.text) if m.type == "error" else 0)
    page.on("pageerror", lambda error: page.said.append(str(error)))
    yield page
    context.close()


def go(page, address):
    page.goto(address)
    page.locator("[data-job]").wait_for(state="detached", timeout=180_000)


def log_lines(folder) -> list[str]:
    log = folder / "yard" / "readings.csv"
    return log.read_text().splitlines()[1:] if log.exists() else []


@pytest.mark.parametrize("address", PAGES)
def test_a_page_fits_a_phone_asks_no_other_host_and_says_no_error(
    phone, server, address
):
    asked = []
    phone.on("request", lambda request: asked.append(request.url))
    go(phone, address)
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert all(url.startswith(server.address) for url in asked)
    # A refusal is answered with 422, which the console tells too.
    said = [text for text in phone.said if "422" not in text]
    assert said == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_accessibility_checker_finds_nothing_serious(chromium, server, scheme):
    from axe_playwright_python.sync_playwright import Axe

    context = chromium.new_context(
        viewport=PHONE, base_url=server.address, color_scheme=scheme, bypass_csp=True
    )
    page = context.new_page()
    found = {}
    # Colours alone differ in the dark.
    for address in PAGES if scheme == "light" else PAGES[2:3] + PAGES[-4:]:
        go(page, address)
        page.evaluate(OPEN_ALL)
        bad = [
            (one["id"], [node["html"][:160] for node in one["nodes"]][:3])
            for one in Axe().run(page).response["violations"]
            if one["impact"] in ("serious", "critical")
        ]
        if bad:
            found[address] = bad
    context.close()
    assert found == {}


def test_every_field_and_button_is_reached_by_keyboard_and_focus_is_seen(phone):
    for address in ("/", "/plan", "/yard/reading", "/yard/add"):
        go(phone, address)
        wanted = phone.evaluate(
            """() => [...document.querySelectorAll(
              'a[href],button,input,select,summary')]
            .filter(e => e.type !== 'hidden' && e.checkVisibility()
              && !(e.type === 'radio' && !e.checked)).length"""
        )
        seen = set()
        for _ in range(wanted + 30):
            phone.keyboard.press("Tab")
            here = phone.evaluate(
                """() => { const e = document.activeElement;
                const all = [...document.querySelectorAll('*')];
                const s = getComputedStyle(e);
                return [all.indexOf(e), e.tagName, s.outlineStyle, s.outlineWidth]; }"""
            )
            if here[1] in ("BODY", "HTML", "MAIN", "DIV"):
                continue
            assert here[2] != "none", (address, here)
            assert float(here[3].removesuffix("px")) >= 2.0, (address, here)
            seen.add(here[0])
        assert len(seen) >= wanted, address


def test_a_reading_on_a_phone_is_there_after_loading_again(phone, folder):
    before = len(log_lines(folder))
    go(phone, "/yard/reading")
    box = phone.get_by_label("What the meter shows")
    assert box.get_attribute("inputmode") == "decimal"
    assert box.bounding_box()["height"] >= 56
    box.fill("18.5")
    phone.get_by_text("Depth, board").click()
    phone.get_by_label("Mark on the board").fill("B7")
    phone.get_by_role("button", name="Note it").click()
    phone.get_by_role("heading", name="Noted: larch-1: 18.5 %").wait_for()
    assert "done=" in phone.url
    phone.reload()
    phone.get_by_role("heading", name="Noted: larch-1: 18.5 %").wait_for()
    assert len(log_lines(folder)) == before + 1
    go(phone, "/yard")
    assert phone.get_by_role("cell", name="18.5 %").count() == 1
    phone.go_back()


def test_a_wrong_reading_is_refused_in_place_and_what_was_typed_stays(phone, folder):
    before = log_lines(folder)
    go(phone, "/yard/reading")
    phone.get_by_label("What the meter shows").fill("dry")
    phone.get_by_role("button", name="Note it").click()
    phone.get_by_role("alert").wait_for()
    assert "is not a number" in phone.get_by_role("alert").inner_text()
    assert phone.get_by_label("What the meter shows").input_value() == "dry"
    assert log_lines(folder) == before


def test_two_tabs_at_once_each_keep_their_reading(chromium, server, folder):
    context = chromium.new_context(viewport=PHONE, base_url=server.address)
    tabs = [context.new_page(), context.new_page()]
    before = len(log_lines(folder))
    for tab, value in zip(tabs, ("21", "22"), strict=True):
        go(tab, "/yard/reading")
        tab.get_by_label("What the meter shows").fill(value)
    for tab in tabs:
        tab.get_by_role("button", name="Note it").click()
    for tab in tabs:
        tab.get_by_role("heading", name="Noted").wait_for()
    new = log_lines(folder)[before:]
    assert sorted(line.split(",")[5] for line in new) == ["21", "22"]
    context.close()


def test_it_works_without_script(chromium, server, folder):
    context = chromium.new_context(
        viewport=PHONE, base_url=server.address, java_script_enabled=False
    )
    page = context.new_page()
    before = len(log_lines(folder))
    page.goto("/yard/reading")
    page.get_by_label("What the meter shows").fill("17")
    page.get_by_role("button", name="Note it").click()
    page.get_by_role("heading", name="Noted: larch-1: 17 %").wait_for()
    page.get_by_role("button", name="Take it back").click()
    page.get_by_text("Taken back.").wait_for()
    assert len(log_lines(folder)) == before + 2
    page.goto("/floor")
    page.get_by_label("Thickness as sawn").fill("30 mm")
    page.get_by_role("button", name="Work it out").click()
    # The page looks again by itself until the answer is there.
    page.get_by_role("heading", name="30 mm European larch").wait_for(timeout=120_000)
    assert "thickness=30" in page.url
    context.close()


def test_a_stack_is_planned_without_loading_the_page_again(phone):
    go(phone, "/plan")
    phone.evaluate("window.stayed = true")
    phone.get_by_label("Put on stickers on").fill("2026-04-01")
    phone.get_by_label("Needed by").fill("2028-05-01")
    phone.get_by_label("Wood").fill("sweet chestnut")
    phone.get_by_label("Thickness as sawn").fill("30 mm")
    phone.get_by_role("button", name="Work it out").click()
    phone.get_by_role("heading", name="When to bring it in").wait_for(timeout=180_000)
    assert phone.evaluate("window.stayed") is True
    assert "need=2028-05-01" in phone.url
    assert "species=sweet+chestnut" in phone.url


def test_a_file_with_a_wrong_unit_is_refused_in_place_then_used(phone, tmp_path):
    rows = ["time,temperature (C),relative humidity (%)"]
    rows += [
        f"{year}-{month:02d}-01,{60 + 2 * month},{60 + month}"
        for year in (2015, 2016, 2017)
        for month in range(1, 13)
    ]
    file = tmp_path / "mine.csv"
    file.write_text("\n".join(rows))
    go(phone, "/")
    phone.get_by_label("Weather file").set_input_files(file)
    phone.get_by_role("button", name="Use this file").click()
    alert = phone.get_by_role("alert")
    alert.wait_for()
    assert alert.bounding_box()["y"] < PHONE["height"]
    phone.get_by_label("Its temperatures are in").select_option("F")
    phone.get_by_role("button", name="Use this file").click()
    phone.get_by_role("heading", name="how dry it gets").wait_for(timeout=180_000)
    assert "temperature_unit=F" in phone.url


def test_every_number_of_a_page_is_the_documents(phone, server):
    address = "/floor?weather=demo"
    go(phone, address)
    document = json.loads(
        phone.request.get(f"/floor.json?{address.partition('?')[2]}").text()
    )
    rows = phone.locator(
        "#floor-months tbody tr, [aria-labelledby=floor-months] tbody tr"
    )
    assert rows.count() == 12
    settings = list(document["result"]["settings"].values())
    for k in range(12):
        for place, cell in zip(settings, rows.nth(k).locator("td").all(), strict=True):
            lowest = place["months"][k]["lowest"]
            shown = [float(text) for text in re.findall(r"[\d.]+", cell.inner_text())]
            wanted = [lowest["p10"], lowest["p50"], lowest["p90"]]
            assert shown == [pytest.approx(value, abs=0.05001) for value in wanted]


def test_killed_amid_a_write_nothing_written_is_lost(chromium, folder, tmp_path):
    server = Server(folder / "yard" / "yard.toml", tmp_path / "keep").start()
    context = chromium.new_context(viewport=PHONE, base_url=server.address)
    page = context.new_page()
    go(page, "/yard/reading")
    before = len(log_lines(folder))
    # A burst of readings, and the server killed while they come.
    page.evaluate(
        """async () => {
        const key = (await (await fetch('/session.json')).json()).form_key;
        window.kept = []; window.sent = [];
        for (let n = 0; n < 400; n++) {
          const entry = n.toString(16).padStart(16, '0'); window.sent.push(entry);
          const body = new URLSearchParams({stack: 'larch-1', value: '19', entry,
            time: '2026-10-01T08:00'});
          fetch('/yard/reading', {method: 'POST', body,
            headers: {Accept: 'application/json', 'X-Form-Key': key}})
            .then(a => a.json()).then(a => window.kept.push(a.stored)).catch(() => {});
        } }"""
    )
    page.wait_for_timeout(400)
    server.kill()
    page.wait_for_timeout(300)
    kept = set(page.evaluate("window.kept"))
    text = (folder / "yard" / "readings.csv").read_text()
    assert len(kept) > 0
    assert all(f"[entry {entry}]" in text for entry in kept)
    assert len(log_lines(folder)) - before >= len(kept)
    from emcforecast.yard.log import read_log

    assert len(read_log(folder / "yard" / "readings.csv").damaged) <= 1
    server.start()
    go(page, "/yard/reading")
    page.get_by_label("What the meter shows").fill("16.5")
    page.get_by_role("button", name="Note it").click()
    page.get_by_role("heading", name="Noted: larch-1: 16.5 %").wait_for()
    server.stop()
    context.close()


def test_offline_a_reading_waits_and_is_stored_once(chromium, folder, tmp_path):
    server = Server(folder / "yard" / "yard.toml", tmp_path / "keep").start()
    context = chromium.new_context(viewport=PHONE, base_url=server.address)
    page = context.new_page()
    go(page, "/yard/reading")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    # Seen once by the worker, so that they are kept.
    for address in ("/floor?weather=demo", "/yard", "/yard/reading"):
        go(page, address)
    before = log_lines(folder)
    server.stop()
    page.reload()
    page.get_by_label("What the meter shows").fill("15.5")
    page.get_by_role("button", name="Note it").click()
    page.get_by_text("1 reading waits").wait_for()
    # The last answers open without the server, the form too.
    page.goto("/floor?weather=demo")
    page.get_by_role("heading", name="27 mm European larch").wait_for()
    page.goto("/dry?weather=demo")
    page.get_by_role("heading", name="No network").wait_for()
    page.goto("/yard/reading")
    page.get_by_text("1 reading waits").first.wait_for()
    assert log_lines(folder) == before
    server.start()
    # Both tabs send it; the log keeps one.
    other = context.new_page()
    other.goto("/yard/reading")
    page.goto("/yard/reading")
    page.wait_for_timeout(3000)
    new = log_lines(folder)[len(before) :]
    assert [line.split(",")[5] for line in new] == ["15.5"]
    assert page.evaluate("localStorage.getItem('emcforecast.readings')") == "[]"
    server.stop()
    context.close()
