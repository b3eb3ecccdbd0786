"""The server itself under what is too much: connections, slow senders, large bodies."""

import resource
import socket
import time
import urllib.error
import urllib.request
from contextlib import suppress

import pytest
from browser import Server

pytestmark = pytest.mark.slow
ASK = b"GET /offline HTTP/1.1\r\nHost: 127.0.0.1\r\n"


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    found = Server("demo", tmp_path_factory.mktemp("keep")).start()
    # What is worked out ahead takes memory of its own.
    for address in ("/floor?weather=demo", "/yard"):
        while status(f"{found.address}{address}") == 202:
            time.sleep(0.5)
    yield found
    found.stop()


def opened(server, seconds: float = 5.0) -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.port), timeout=seconds)


def answered(server) -> int:
    return status(f"{server.address}/offline")


def status(address: str) -> int:
    with urllib.request.urlopen(address, timeout=30) as page:
        return page.status


def test_ten_thousand_connections_are_refused_politely(server):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 12_000), hard))
    before = server.resident_mb()
    held, refused, gone = [], 0, 0
    until = time.monotonic() + 60
    for _ in range(10_000):
        if time.monotonic() > until:
            break
        try:
            held.append(opened(server, 2.0))
        except OSError:
            gone += 1
    for one in held:
        one.setblocking(False)
    time.sleep(1.0)
    for one in held:
        with suppress(OSError):
            refused += one.recv(200).startswith(b"HTTP/1.1 503")
    asked = len(held) + gone
    for one in held:
        one.close()
    resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    assert asked == 10_000
    # Those taken wait for a request; all others were told why not.
    assert refused >= 0.95 * (10_000 - 200)
    time.sleep(1.0)
    assert answered(server) == 200
    assert server.resident_mb() - before < 60


def test_a_slow_sender_holds_no_worker(server):
    slow = [opened(server) for _ in range(40)]
    for one in slow:
        one.sendall(ASK)
    began = time.monotonic()
    for _ in range(10):
        assert answered(server) == 200
        for one in slow:
            one.sendall(b"X")
    assert time.monotonic() - began < 20
    for one in slow:
        one.close()


@pytest.mark.parametrize(
    "sent",
    [
        b"GARBAGE\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"y" * 100_000 + b"\r\n\r\n",
        b"POST /upload HTTP/1.1\r\nHost: 127.0.0.1\r\n"
        b"Content-Length: 1000000000\r\n\r\n",
        b"POST /upload HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -5\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: 127.0.0.1\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n"
        b"Content-Length: 4\r\n\r\n0\r\n\r\nGET /yard HTTP/1.1\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET /\x00 HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    ],
)
def test_what_is_no_request_is_refused(server, sent):
    with opened(server) as one:
        one.settimeout(10)
        answer = b""
        # It may have closed the connection before all was sent.
        with suppress(OSError):
            one.sendall(sent)
            one.shutdown(socket.SHUT_WR)
        with suppress(ConnectionError):
            answer = one.recv(2000)
    assert b" 200 " not in answer.split(b"\r\n")[0]
    assert b"larch" not in answer
    assert answered(server) == 200


def test_a_gigabyte_is_not_taken_in(server):
    before = server.resident_mb()
    with opened(server, 20) as one:
        one.sendall(
            b"POST /upload HTTP/1.1\r\nHost: 127.0.0.1\r\n"
            b"Transfer-Encoding: chunked\r\n\r\n"
        )
        block = b"100000\r\n" + b"x" * 0x100000 + b"\r\n"
        try:
            for _ in range(1000):
                one.sendall(block)
        except OSError:
            sent = True
        else:
            sent = b"413" in one.recv(200)
    assert sent
    assert server.resident_mb() - before < 150
    assert answered(server) == 200


def test_a_foreign_host_and_a_cross_site_form_are_refused(server):
    for headers, body, code in (
        ({"Host": "evil.example"}, None, 421),
        ({"Origin": "http://evil.example"}, b"stack=larch-1&value=3", 403),
    ):
        asked = urllib.request.Request(f"{server.address}/yard/reading", body, headers)
        with pytest.raises(urllib.error.HTTPError) as told:
            urllib.request.urlopen(asked, timeout=20)
        assert told.value.code == code
        told.value.close()
