"""Private by default: Host, token, cookie, form key, headers, sizes."""

import io
from dataclasses import replace

import pytest

from emcforecast.web.app import create_app
from emcforecast.web.keys import GUESSES_OF_ONE, Keys, keys_kept_in, new_token

TOKEN = "abcd-efgh-jkmn"


@pytest.fixture
def guarded(serving):
    app = create_app(replace(serving, token=TOKEN))
    yield app
    app.extensions["emcforecast"].pool.close()


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "localhost@evil.example",
        "[::1",
        "",
        "::",
    ],
)
def test_another_host_is_not_answered(visitor, host):
    answer = visitor.get("/yard/reading", headers={"Host": host})
    assert answer.status_code == 421
    assert b"larch-1" not in answer.data


@pytest.mark.parametrize("host", ["localhost:8477", "127.0.0.1", "LOCALHOST"])
def test_its_own_names_are_answered(visitor, host):
    assert visitor.get("/yard/reading", headers={"Host": host}).status_code == 200


def test_without_the_token_nothing_of_the_yard_is_told(guarded):
    client = guarded.test_client()
    for address in (
        "/",
        "/yard",
        "/yard.json",
        "/floor",
        "/session.json",
        "/job/x.json",
    ):
        answer = client.get(address, headers={"Accept": "text/html"})
        assert answer.status_code == 303, address
        assert answer.headers["Location"] == "/enter"
        assert client.get(address).status_code in (303, 403)
    assert client.post("/yard/reading", data={"stack": "larch-1"}).status_code == 403


def test_the_token_becomes_a_cookie_and_leaves_the_address(guarded):
    client = guarded.test_client()
    answer = client.get(f"/enter?token={TOKEN}")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert TOKEN not in cookie
    page = client.get("/yard/reading")
    assert page.status_code == 200
    assert TOKEN not in page.get_data(as_text=True)


def test_a_cookie_that_was_not_made_here_opens_nothing(guarded):
    client = guarded.test_client()
    forged = Keys(b"x" * 32).new_session()
    for value in (forged, "a.b", "", "0" * 32 + "." + "0" * 64):
        client.set_cookie("emcforecast", value)
        assert client.get("/yard", headers={"Accept": "text/html"}).status_code == 303


def test_tokens_can_be_guessed_only_a_few_times(guarded):
    client = guarded.test_client()
    codes = [client.get(f"/enter?token=guess-{n}").status_code for n in range(20)]
    assert codes == [403] * GUESSES_OF_ONE + [429] * (20 - GUESSES_OF_ONE)
    # The right one must wait too, or guessing would go on.
    assert client.get(f"/enter?token={TOKEN}").status_code == 429


def test_guesses_of_many_addresses_are_counted_together(guarded):
    client = guarded.test_client()
    codes = [
        client.get(
            f"/enter?token=g{n}", environ_base={"REMOTE_ADDR": f"10.0.0.{n % 250}"}
        ).status_code
        for n in range(60)
    ]
    assert codes.count(403) == 40
    assert set(codes[40:]) == {429}


def test_tokens_differ_and_can_be_typed():
    tokens = {new_token() for _ in range(200)}
    assert len(tokens) == 200
    assert all(
        len(t) == 14 and t.islower() for t in tokens if t.replace("-", "").isalpha()
    )


def test_the_secret_stays_and_only_its_owner_reads_it(tmp_path):
    session = keys_kept_in(tmp_path).new_session()
    assert keys_kept_in(tmp_path).session_of(session) is not None
    assert (tmp_path / "secret").stat().st_mode & 0o077 == 0
    assert keys_kept_in(tmp_path, renew=True).session_of(session) is None


WRITES = [
    ("/yard/reading", {"stack": "larch-1", "value": "18"}),
    ("/yard/reading/undo", {"entry": "a" * 16}),
    ("/yard/add", {"name": "x", "species": "white oak", "thickness": "4/4"}),
    ("/yard/move", {"stack": "larch-1", "setting": "indoor"}),
    ("/yard/changed/undo", {"code": "a" * 16}),
    ("/upload", {}),
    ("/job/x/stop", {}),
]


@pytest.mark.parametrize(("address", "fields"), WRITES)
def test_no_write_without_the_key_of_the_form(visitor, yard_file, address, fields):
    before = sorted((p.name, p.read_bytes()) for p in yard_file.parent.iterdir())
    visitor.get("/")
    for key in ("", "0" * 64, Keys(b"y" * 32).form_key("z")):
        answer = visitor.client.post(address, data={**fields, "form_key": key})
        assert answer.status_code == 403, key
    after = sorted((p.name, p.read_bytes()) for p in yard_file.parent.iterdir())
    assert after == before


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_no_write_from_another_site_even_with_the_key(visitor, headers):
    visitor.get("/yard/reading")
    answer = visitor.client.post(
        "/yard/reading",
        data={"form_key": visitor.key, "stack": "larch-1", "value": "18"},
        headers=headers,
    )
    assert answer.status_code == 403


def test_every_answer_carries_the_headers(visitor):
    for address in ("/", "/floor", "/nix", "/static/web.js", "/manifest.webmanifest"):
        headers = visitor.get(address).headers
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "Access-Control-Allow-Origin" not in headers


def test_no_page_holds_script_or_style_of_its_own(visitor):
    for address in ("/", "/floor", "/dry", "/plan", "/yard/add", "/yard/reading"):
        page = visitor.get(address).get_data(as_text=True)
        assert "<script>" not in page
        assert "<style" not in page
        assert " style=" not in page
        assert " on" + "click" not in page


def test_large_forms_are_refused(visitor):
    visitor.get("/yard/reading")
    assert visitor.post("/yard/reading", note="x" * 300_000).status_code == 413


@pytest.mark.parametrize("size", [65_000_000, 1_000_000_000])
def test_an_upload_too_large_is_refused_before_it_is_read(visitor, size):
    visitor.get("/")

    class Endless(io.RawIOBase):
        given = 0

        def tell(self):
            return 0

        def seek(self, _place, _whence=0):
            return 0

        def readable(self):
            return True

        def readinto(self, buffer):
            self.given += len(buffer)
            return len(buffer)

    stream = Endless()
    answer = visitor.client.post(
        "/upload",
        input_stream=stream,
        environ_overrides={"CONTENT_LENGTH": str(size)},
        content_type="multipart/form-data; boundary=x",
    )
    assert answer.status_code == 413
    assert stream.given < 1_000_000


@pytest.mark.parametrize(
    ("token", "secure", "sent"),
    [(None, False, True), (TOKEN, True, True), (TOKEN, False, False)],
)
def test_an_opener_policy_only_where_browsers_heed_it(serving, token, secure, sent):
    """Elsewhere they complain (HTML standard, cross-origin opener policies: the origin
    must be potentially trustworthy)."""
    app = create_app(replace(serving, token=token, secure=secure))
    answer = app.test_client().get("/enter")
    app.extensions["emcforecast"].pool.close()
    assert ("Cross-Origin-Opener-Policy" in answer.headers) is sent
    assert "Content-Security-Policy" in answer.headers
