"""A real HTTP server on this computer that plays the archives, well and badly."""

import http.server
import threading
import time
from collections import defaultdict
from dataclasses import replace
from types import SimpleNamespace

import pytest

from emcforecast.report.repairs import repair_sentence
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.network.session import Session

#: Any object with these serves as a reply.
NOT_FOUND = SimpleNamespace(
    status=404, body=b"not found", headers={}, sleep=0.0, claim=None
)


class Archives(http.server.ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self):
        super().__init__(("127.0.0.1", 0), _Handler)
        self.plans = defaultdict(list)
        self.rule = None
        self.asked = []
        self.secrets = []

    @property
    def url(self):
        return f"http://127.0.0.1:{self.server_port}"

    def plan(self, part, *replies):
        """Answer addresses with `part` in them by these replies, the last for ever."""
        self.plans[part] = list(replies)

    def reply(self, path):
        for part, replies in self.plans.items():
            if part in path:
                return replies.pop(0) if len(replies) > 1 else replies[0]
        found = self.rule(path) if self.rule is not None else None
        return found if found is not None else NOT_FOUND


class _Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_POST(self):
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self.do_GET()

    def do_GET(self):
        self.server.asked.append(self.path)
        self.server.secrets.append(self.headers.get("PRIVATE-TOKEN"))
        reply = self.server.reply(self.path)
        if reply.sleep:
            time.sleep(reply.sleep)
        try:
            self.send_response(reply.status)
            for name, value in reply.headers.items():
                self.send_header(name, value)
            size = len(reply.body) if reply.claim is None else reply.claim
            self.send_header("Content-Length", str(size))
            self.end_headers()
            slow = getattr(reply, "drip", 0.0)
            for at in range(len(reply.body) if slow else 0):
                self.wfile.write(reply.body[at : at + 1])
                time.sleep(slow)
            self.wfile.write(b"" if slow else reply.body)
        except OSError:
            pass
        if reply.claim is not None or reply.sleep:
            self.close_connection = True

    def log_message(self, *_):
        pass


@pytest.fixture
def archives():
    server = Archives()
    thread = threading.Thread(target=server.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def ask(archives, tmp_path):
    """Make sessions that ask the played archives and keep replies in one folder."""
    made = []

    def make(**options):
        said = []
        settings = {
            "folder": tmp_path / "cache",
            "mirror": archives.url,
            "timeout": (2.0, 0.5),
            "retries": 2,
            "backoff": 0.01,
            "on_notice": lambda notice: said.append(repair_sentence(notice)),
            **options,
        }
        session = Session(**settings)
        session.said = said
        made.append(session)
        return session

    yield make
    for session in made:
        session.close()


@pytest.fixture
def played(archives, tmp_path, monkeypatch):
    """Let every session of the program ask the played archives, without their pauses.

    That an archive's pause is kept is checked in `test_session.py`.
    """
    monkeypatch.setenv("EMCFORECAST_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("EMCFORECAST_MIRROR", archives.url)
    monkeypatch.setitem(Session.__init__.__kwdefaults__, "backoff", 0.01)
    for name, archive in ARCHIVES.items():
        monkeypatch.setitem(ARCHIVES, name, replace(archive, pause=0.0))
    return archives
