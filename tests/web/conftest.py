"""A server of the tests: a yard in a folder of its own, and a visitor."""

from html.parser import HTMLParser
from pathlib import Path

import pytest
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

YARD = """\
name = "Test yard"
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


class Form(HTMLParser):
    """The fields of every form of a page, as a browser would send them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.forms: list[dict] = []
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.forms.append({"action": given.get("action"), "fields": {}})
        elif tag == "input" and self.forms and given.get("name"):
            kind = given.get("type", "text")
            if kind in ("radio", "checkbox") and "checked" not in given:
                return
            self.forms[-1]["fields"][given["name"]] = given.get("value", "")
        elif tag == "select" and self.forms:
            self._select = given["name"]
            self.forms[-1]["fields"][self._select] = None
        elif tag == "option" and self._select:
            fields = self.forms[-1]["fields"]
            if fields[self._select] is None or "selected" in given:
                fields[self._select] = given.get("value", "")

    def handle_endtag(self, tag):
        if tag == "select":
            self._select = ""


class Visitor:
    """A test client that keeps the form key of the last page."""

    def __init__(self, app) -> None:
        self.app = app
        self.client = app.test_client()
        self.key = ""

    def get(self, address: str, **more):
        headers = {"Accept": "text/html", **more.pop("headers", {})}
        answer = self.client.get(address, headers=headers, **more)
        for form in Form(answer.get_data(as_text=True)).forms:
            self.key = form["fields"].get("form_key", self.key)
        answer.close()
        return answer

    def form(self, address: str, action: str) -> dict[str, str]:
        page = self.get(address).get_data(as_text=True)
        return next(f["fields"] for f in Form(page).forms if f["action"] == action)

    def post(self, address: str, **fields):
        body = {"form_key": self.key, **fields}
        kind = None
        if address == "/upload":
            # Encoded here: the client would leave a large body's file open.
            held = {
                name: FileStorage(*value) if isinstance(value, tuple) else value
                for name, value in body.items()
            }
            boundary, body = encode_multipart(held)
            kind = f"multipart/form-data; boundary={boundary}"
        return self.client.post(
            address, data=body, headers={"Accept": "text/html"}, content_type=kind
        )

    def answered(self, address: str, seconds: float = 120.0):
        """Get a page, waiting for its answer."""
        page = self.get(address)
        if page.status_code == 202:
            for job in list(self.app.extensions["emcforecast"].pool._jobs.values()):
                assert job.ended.wait(seconds)
            page = self.get(address)
        return page


@pytest.fixture
def yard_file(tmp_path: Path) -> Path:
    folder = tmp_path / "yard"
    folder.mkdir()
    path = folder / "yard.toml"
    path.write_text(YARD)
    return path


@pytest.fixture
def serving(tmp_path: Path, yard_file: Path):
    from emcforecast.web.serving import Serving

    return Serving(
        keep=tmp_path / "keep",
        yard=yard_file,
        folder=yard_file.parent,
        hosts=("localhost", "127.0.0.1"),
    )


@pytest.fixture
def app(serving):
    from emcforecast.web.app import create_app

    made = create_app(serving)
    yield made
    made.extensions["emcforecast"].pool.close()


@pytest.fixture
def visitor(app) -> Visitor:
    return Visitor(app)
