"""What a hostile visitor tries with names, notes, paths and files."""

import gzip
import io
import re
import zipfile
from html.parser import HTMLParser

import pytest

from emcforecast.web.questions import FIELDS

SCRIPTS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 1913 * 4099 }}{% raw %}",
    "${1913*4099}#{1913*4099}",
    "' autofocus onfocus=alert(1) x='",
    "javascript:alert(1)",
    "\u202e\x00\x1b[2J",
)


class Tags(HTMLParser):
    """Refuses a page whose markup is not all its own."""

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        assert not [name for name in given if name.startswith("on")]
        assert tag != "img"
        assert tag != "script" or given == {"src": "/static/web.js", "defer": None}
        assert not (given.get("href") or "").lower().startswith("javascript")


def no_markup(page: str) -> None:
    Tags().feed(page)
    assert "7841387" not in re.sub(r"[0-9a-f]{16,}", "", page)
    assert "\x1b" not in page
    assert "\u202e" not in page


@pytest.mark.parametrize("command", ["floor", "dry", "plan"])
@pytest.mark.parametrize("text", SCRIPTS)
def test_no_field_of_a_question_is_markup(visitor, command, text):
    for fields in (FIELDS[command], FIELDS[command][::2]):
        query = {**dict.fromkeys(fields, text), "form": "1"}
        page = visitor.get(f"/{command}", query_string=query)
        assert page.status_code == 200
        no_markup(page.get_data(as_text=True))


@pytest.mark.parametrize("text", SCRIPTS)
def test_no_refusal_of_a_question_is_markup(visitor, text):
    for field in ("weather", "species", "thickness", "units", "shed", "latitude"):
        page = visitor.get("/floor", query_string={field: text})
        assert page.status_code == 422
        no_markup(page.get_data(as_text=True))


@pytest.mark.parametrize("text", SCRIPTS)
def test_no_field_of_the_yard_is_markup(visitor, yard_file, text):
    reading = visitor.form("/yard/reading", "/yard/reading")
    for field in ("note", "board", "depth", "stack", "value", "species_setting"):
        fields = {**reading, "value": "18", field: text}
        page = visitor.post("/yard/reading", **fields)
        if page.status_code == 303:
            page = visitor.get(page.headers["Location"])
        no_markup(page.get_data(as_text=True))
    stack = visitor.form("/yard/add", "/yard/add")
    stack |= {"species": "white oak", "thickness": "4/4", "name": "n"}
    for field in ("name", "species", "thickness", "note", "setting", "use", "count"):
        page = visitor.post("/yard/add", **{**stack, field: text})
        if page.status_code == 303:
            for address in ("/yard/add", "/yard/move", "/yard/reading"):
                no_markup(visitor.get(address).get_data(as_text=True))
        no_markup(page.get_data(as_text=True))
    for address in (f"/yard/changed?code={text}", f"/yard/reading?stack={text}"):
        no_markup(visitor.get(address).get_data(as_text=True))


PATHS = (
    "../yard.toml",
    "..%2fyard.toml",
    "/etc/passwd",
    "....//etc/passwd",
    "yard.toml",
    "secret.csv/../../keep/secret",
    "C:\\windows\\win.ini",
    "link.csv",
    "pipe.csv",
    "*.csv",
    "a.csv+/etc/passwd",
    "\x00.csv",
    "",
)


@pytest.mark.parametrize("path", PATHS)
def test_no_file_outside_the_folder_is_read(visitor, yard_file, tmp_path, path):
    import os

    secret = tmp_path / "outside.csv"
    secret.write_text("time,temperature,humidity\n")
    (yard_file.parent / "link.csv").symlink_to(secret)
    os.mkfifo(yard_file.parent / "pipe.csv")
    (yard_file.parent / "a.csv").write_text("x\n")
    for kind in ("file", "upload"):
        page = visitor.get("/floor", query_string={"weather": f"{kind}:{path}"})
        text = page.get_data(as_text=True)
        assert page.status_code == 422
        assert "no such weather file" in text or "not here any more" in text
        assert "root:" not in text


@pytest.mark.parametrize(
    "weather", ["/etc/passwd", "open-meteo:../x", "nix:1,2", "open-meteo:*", "x.csv"]
)
def test_weather_is_a_name_and_never_a_path(visitor, weather):
    page = visitor.get("/floor", query_string={"weather": weather})
    assert page.status_code == 422
    assert "is not known; choose" in page.get_data(as_text=True)


@pytest.mark.parametrize(
    "address", ["/static/../app.py", "/static/..%2fapp.py", "/static/%2e%2e/keys.py",
                "//etc/passwd", "/calendar/..%2f..%2fsecret.ics"]
)  # fmt: skip
def test_no_address_leads_out(visitor, address):
    page = visitor.get(address)
    assert page.status_code in (404, 308, 421)
    assert "import" not in page.get_data(as_text=True)


@pytest.mark.parametrize(
    "name", ["../../evil.csv", "/etc/cron.d/x", "a\x00b.csv", "x" * 400, "..", ".csv"]
)
def test_an_upload_keeps_no_path_of_its_name(visitor, serving, tmp_path, name):
    visitor.get("/")
    before = {p for p in tmp_path.rglob("*") if serving.keep not in p.parents}
    visitor.post("/upload", file=(io.BytesIO(b"nothing of use"), name))
    kept = list((serving.keep / "uploads").iterdir())
    assert len(kept) == 1
    assert re.fullmatch(r"[0-9a-f]{24}-[A-Za-z0-9._]{1,60}", kept[0].name)
    assert {p for p in tmp_path.rglob("*") if serving.keep not in p.parents} == before


def bomb_gzip() -> bytes:
    return gzip.compress(b"\0" * 900_000_000, 6)


def bomb_zip() -> bytes:
    held = io.BytesIO()
    with (
        zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as file,
        file.open("weather.csv", "w", force_zip64=True) as inside,
    ):
        for _ in range(900):
            inside.write(b"\0" * 1_000_000)
    return held.getvalue()


def bomb_netcdf() -> bytes:
    import h5py

    held = io.BytesIO()
    with h5py.File(held, "w") as file:
        data = file.create_dataset(
            "t2m", (10**10,), "f8", compression="gzip", chunks=(10**6,), fillvalue=1.0
        )
        data.attrs["units"] = "K"
    return held.getvalue()


@pytest.mark.slow
@pytest.mark.parametrize("bomb", [bomb_gzip, bomb_zip, bomb_netcdf])
def test_a_bomb_is_refused_in_place(visitor, bomb):
    import resource

    content = bomb()
    visitor.get("/")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    page = visitor.post("/upload", file=(io.BytesIO(content), "weather.nc"))
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert page.status_code == 422
    assert 'role="alert"' in page.get_data(as_text=True)
    # KiB on Linux; the readers unpack at most so much.
    assert grown < 1_500_000


def test_a_file_with_a_wrong_unit_is_refused_in_place_then_read(visitor):
    # Its heading says °C and its numbers are °F.
    rows = ["time,temperature (C),relative humidity (%)"]
    rows += [
        f"{year}-{month:02d}-01,{60 + 2 * month},{60 + month}"
        for year in (2015, 2016, 2017)
        for month in range(1, 13)
    ]
    visitor.get("/")
    content = "\n".join(rows).encode()
    page = visitor.post("/upload", file=(io.BytesIO(content), "mine.csv"))
    text = page.get_data(as_text=True)
    assert page.status_code == 422
    assert "Not yet:" in text
    code = re.search(r'name="upload" value="([0-9a-f]{24})"', text)
    assert code is not None
    sent = visitor.post("/upload", upload=code[1], temperature_unit="F", latitude="47")
    assert sent.status_code == 303
    assert "temperature_unit=F" in sent.headers["Location"]
    assert f"upload%3A{code[1]}" in sent.headers["Location"]


@pytest.mark.slow
def test_the_calendar_cannot_be_steered(visitor, yard_file):
    name = r"x\r\nBEGIN:VEVENT\r\nSUMMARY:evil"
    yard_file.write_text(yard_file.read_text().replace('"Test yard"', f'"{name}"'))
    page = visitor.answered("/yard")
    assert page.status_code == 200
    key = visitor.app.extensions["emcforecast"].guard.keys.calendar_key()
    answer = visitor.client.get(f"/calendar/{key}.ics")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 200
    assert not re.search(r"^SUMMARY:evil", text, re.MULTILINE)
    begun, ended = (
        len(re.findall(f"^{word}:VEVENT", text, re.MULTILINE))
        for word in ("BEGIN", "END")
    )
    assert begun == ended > 0
    assert text.count("SUMMARY:larch-1") == begun


def test_the_calendar_opens_with_its_key_alone(visitor):
    codes = [
        visitor.client.get(f"/calendar/{n:032d}.ics").status_code for n in range(8)
    ]
    assert codes == [404] * 5 + [429] * 3


@pytest.mark.parametrize(
    "address", ["/enter?token=a%0d%0aSet-Cookie:x=y", "/%0d%0aX:y"]
)
def test_no_header_is_injected(visitor, address):
    answer = visitor.get(address)
    assert "x=y" not in str(answer.headers)
    assert "X:" not in str(answer.headers).replace("X-", "")
