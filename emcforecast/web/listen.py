"""Listening: one server on one address, that refuses politely what is too much."""

import socket
from collections import Counter
from contextlib import suppress
from typing import Any

from flask import Flask
from waitress.adjustments import Adjustments
from waitress.server import TcpWSGIServer
from waitress.task import ThreadedTaskDispatcher

from emcforecast.web.serving import LARGEST_UPLOAD

THREADS = 8
MOST_CONNECTIONS = 200
MOST_OF_ONE = 60
"""Connections from one other computer; this one may have all."""
REQUEST_SECONDS = 120.0
"""A request must have come whole in this time, however slowly it is sent."""
IDLE_SECONDS = 30
_FULL = (
    b"HTTP/1.1 503 Service Unavailable\r\nRetry-After: 10\r\nConnection: close\r\n"
    b"Content-Type: text/plain; charset=utf-8\r\nContent-Length: 46\r\n\r\n"
    b"Too many are asking now. Try again in a minute"
)


class PoliteServer(TcpWSGIServer):  # type: ignore[misc]
    """A server that answers 503 to what is too much instead of letting it hang."""

    def handle_accept(self) -> None:
        """Take a connection, or refuse it with a reason."""
        try:
            accepted = self.accept()
            if accepted is None:
                return
            connection, address = accepted
            self.set_socket_options(connection)
        except OSError:
            # Gone again before it was taken.
            return
        address = self.fix_addr(address)
        if self._is_full(address[0]):
            _refuse(connection)
            return
        self.channel_class(self, connection, address, self.adj, map=self._map)

    def maintenance(self, now: float) -> None:
        """Close what is idle, and what sends a request too slowly."""
        super().maintenance(now)
        for channel in list(self.active_channels.values()):
            slow = getattr(channel, "request", None) is not None
            if not slow:
                channel.whole_at = now
            elif now - getattr(channel, "whole_at", channel.creation_time) > (
                REQUEST_SECONDS
            ):
                channel.will_close = True

    def _is_full(self, address: str) -> bool:
        held = Counter(channel.addr[0] for channel in self.active_channels.values())
        if sum(held.values()) >= MOST_CONNECTIONS:
            return True
        near = address in ("127.0.0.1", "::1")
        return not near and held[address] >= MOST_OF_ONE


def _refuse(connection: socket.socket) -> None:
    connection.setblocking(False)
    # It may not wait for the answer.
    with suppress(OSError):
        connection.send(_FULL)
        connection.shutdown(socket.SHUT_WR)
    connection.close()


def server_of(app: Flask, host: str, port: int) -> Any:
    """Return a server that listens; its `run` serves until it is stopped.

    Parameters
    ----------
    app : Flask
        The application.
    host : str
        The address to listen on.
    port : int
        0 for any that is free.

    Raises
    ------
    OSError
        When the port is taken.
    """
    adjustments = Adjustments(
        host=host,
        port=port,
        ipv6=False,
        threads=THREADS,
        # Above the bound held here, so that none is left hanging in the queue.
        connection_limit=MOST_CONNECTIONS + 100,
        backlog=1024,
        channel_timeout=IDLE_SECONDS,
        cleanup_interval=5,
        max_request_body_size=LARGEST_UPLOAD + 100_000,
        max_request_header_size=32_768,
        asyncore_use_poll=True,
        ident=None,
        clear_untrusted_proxy_headers=True,
    )
    dispatcher = ThreadedTaskDispatcher()
    dispatcher.set_thread_count(adjustments.threads)
    return PoliteServer(
        app,
        map={},
        _start=True,
        dispatcher=dispatcher,
        adj=adjustments,
        sockinfo=adjustments.listen[0],
    )


def addresses_of_this_computer() -> list[str]:
    """Return the addresses other computers in the house may reach this one by."""
    found: list[str] = []
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    with probe, suppress(OSError):
        # Nothing is sent: it only says which way a packet would go.
        probe.connect(("192.0.2.1", 9))
        found.append(probe.getsockname()[0])
    with suppress(OSError):
        found += socket.gethostbyname_ex(socket.gethostname())[2]
    return [one for one in dict.fromkeys(found) if not one.startswith("127.")]
