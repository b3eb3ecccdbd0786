"""The server's secret and what is made from it: sessions, form keys, the calendar key.

The secret is made once and kept in a file that only its owner may read, so that a phone
stays signed in when the server is started again.
"""

import hashlib
import hmac
import os
import re
import secrets
import threading
import time
from collections import deque
from pathlib import Path

from emcforecast.errors import InputError
from emcforecast.files import contents, unopened
from emcforecast.language import _

_SECRET_BYTES = 32
GUESSES_OF_ONE = 5
"""Wrong tokens from one address in the time below, before it must wait."""
GUESSES_OF_ALL = 40
"""The same from all addresses together."""
GUESS_SECONDS = 600.0


class Keys:
    """Everything that is made from the server's secret."""

    def __init__(self, secret: bytes) -> None:
        """Take the secret, 32 bytes."""
        self._secret = secret

    def new_session(self) -> str:
        """Return a new session as its cookie holds it, signed."""
        name = secrets.token_hex(16)
        return f"{name}.{self._sign('session', name)}"

    def session_of(self, cookie: str | None) -> str | None:
        """Return the session a cookie names, or None where it was not made here."""
        found = re.fullmatch(r"([0-9a-f]{32})\.([0-9a-f]{64})", cookie or "")
        if found is None or not hmac.compare_digest(
            found[2], self._sign("session", found[1])
        ):
            return None
        return found[1]

    def form_key(self, session: str) -> str:
        """Return what every form of a session must send with it."""
        return self._sign("form", session)

    def calendar_key(self) -> str:
        """Return what opens the calendar alone: calendars cannot keep a cookie."""
        return self._sign("calendar", "")[:32]

    def _sign(self, purpose: str, text: str) -> str:
        return hmac.new(
            self._secret, f"{purpose}:{text}".encode(), hashlib.sha256
        ).hexdigest()


def same(given: str | None, wanted: str) -> bool:
    """Compare without telling by the time taken how much is right."""
    return hmac.compare_digest((given or "").encode(), wanted.encode())


def new_token() -> str:
    """Return a token short enough to type, 60 bits: x7kd-93mq-ab2c."""
    letters = "abcdefghijkmnpqrstuvwxyz23456789"
    parts = ("".join(secrets.choice(letters) for _ in range(4)) for _ in range(3))
    return "-".join(parts)


def keys_kept_in(folder: Path, *, renew: bool = False) -> Keys:
    """Return the keys of the secret kept in a folder; made when missing.

    Parameters
    ----------
    folder : Path
        Where the server keeps things.
    renew : bool
        Make a new secret: everybody must show the token again.

    Raises
    ------
    InputError
        When the secret cannot be read or written.
    """
    path = folder / "secret"
    if renew:
        path.unlink(missing_ok=True)
    try:
        try:
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            held = contents(path, InputError, 1000)
        else:
            held = secrets.token_bytes(_SECRET_BYTES)
            with os.fdopen(descriptor, "wb") as file:
                file.write(held)
                file.flush()
                os.fsync(file.fileno())
    except OSError as error:
        raise InputError(unopened(path, error)) from error
    if len(held) != _SECRET_BYTES:
        raise InputError(
            _(
                "{path}: is not the secret of a server; remove it, and a new "
                "one is made",
                path=path,
            )
        )
    return Keys(held)


class Guesses:
    """Counts wrong tokens, so that nobody can try them all."""

    def __init__(self) -> None:
        """Begin with none."""
        self._wrong: dict[str, deque[float]] = {}
        self._lock = threading.Lock()

    def wait(self, address: str) -> bool:
        """Tell whether an address must wait before it may try again."""
        with self._lock:
            self._forget()
            own = len(self._wrong.get(address, ()))
            everybody = sum(map(len, self._wrong.values()))
        return own >= GUESSES_OF_ONE or everybody >= GUESSES_OF_ALL

    def wrong(self, address: str) -> None:
        """Count a wrong token."""
        with self._lock:
            self._wrong.setdefault(address, deque()).append(time.monotonic())

    def _forget(self) -> None:
        since = time.monotonic() - GUESS_SECONDS
        for address in list(self._wrong):
            held = self._wrong[address]
            while held and held[0] < since:
                held.popleft()
            if not held:
                del self._wrong[address]
