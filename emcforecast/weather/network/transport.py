"""Below the session: what the cache keeps, an archive's pace, replies checked."""

from __future__ import annotations

import hashlib
import json
import os
import re
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import astuple
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from threading import Thread
from typing import Any, Protocol, TypeVar
from urllib.parse import urlsplit

import numpy as np
import requests
import urllib3
import xarray as xr
from platformdirs import user_cache_path
from requests_cache.backends.filesystem import FileDict
from requests_cache.models.response import CachedResponse
from requests_ratelimiter import LimiterAdapter

from emcforecast.errors import ArchiveError
from emcforecast.language import N_, _
from emcforecast.weather.archives import record
from emcforecast.weather.archives.raw import UNITS
from emcforecast.weather.archives.record import Archive, Request
from emcforecast.weather.formats.content import BROKEN
from emcforecast.weather.hints import Hints

#: Environment variable that moves the cache.
CACHE_VARIABLE = "EMCFORECAST_CACHE"
#: A span that ended longer ago than this no longer changes.
SETTLED = timedelta(days=30)


def is_settled(request: Request, on: date | None = None) -> bool:
    """Return whether what a request brings no longer changes."""
    day = date.today() if on is None else on
    return request.last is not None and request.last + SETTLED < day


def is_fresh(path: Path, request: Request) -> bool:
    """Return whether a kept reply need not be asked for again."""
    if not path.exists():
        return False
    written = datetime.fromtimestamp(path.stat().st_mtime)
    young = datetime.now() - written < timedelta(days=1)
    return young or is_settled(request, written.date())


def cache_folder() -> Path:
    """Return where replies are kept."""
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named) if named else user_cache_path("emcforecast") / "archives"


class Files(FileDict):
    """Replies as files, written whole or not at all, whoever else writes them."""

    broken: Callable[[OSError], None]

    def __getitem__(self, key: str) -> Any:
        """Return a kept reply; one that was damaged since is as if never kept."""
        try:
            text, _end, mark = self._key2path(key).read_text("utf-8").rpartition("\n")
            found = self.deserialize(key, text) if mark == _mark(text) else None
        except BROKEN as error:
            raise KeyError(key) from error
        if not isinstance(found, CachedResponse):
            raise KeyError(key)
        return found

    def __setitem__(self, key: str, value: Any) -> None:
        """Keep a reply; a folder that cannot be written is told, not fatal."""
        target = self._key2path(key)
        try:
            number, name = tempfile.mkstemp(dir=self.cache_dir, suffix=".part")
            with os.fdopen(number, "w", encoding="utf-8") as file:
                text = self.serialize(value)
                file.write(f"{text}\n{_mark(text)}")
            Path(name).replace(target)
        except OSError as error:
            self.broken(error)


def _mark(text: str) -> str:
    """Return the mark that a kept reply ends with, by which damage shows."""
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _readers() -> str:
    """Mark the state of the readers, so that a changed one reads anew."""
    files = sorted(Path(record.__file__).parents[1].rglob("*.py"))
    marks = [
        (file.name, file.stat().st_size, file.stat().st_mtime_ns) for file in files
    ]
    return repr(marks)


def parsed_path(folder: Path, request: Request, archive: Archive, hints: Hints) -> Path:
    """Name the file that keeps what a reply was read to."""
    mark = repr((archive.id, request.url, request.params, request.body))
    mark += repr(astuple(hints)) + _readers()
    return folder / f"read-{hashlib.sha256(mark.encode()).hexdigest()}.npz"


def load_parsed(path: Path) -> xr.Dataset | None:
    """Return a kept raw series, or None when there is none that is whole."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as box:
            attrs = json.loads(str(box["attrs"]))
            time = box["time"].astype("datetime64[ns]")
            return xr.Dataset(
                {
                    name: ("time", box[name], {"units": units})
                    for name, units in UNITS.items()
                    if name in box
                },
                coords={"time": time},
                attrs=attrs,
            )
    except BROKEN:
        return None


def save_parsed(path: Path, raw: xr.Dataset) -> None:
    """Keep a raw series; a cache that cannot be written costs only time."""
    arrays = {str(name): raw[name].to_numpy() for name in raw.data_vars}
    arrays["time"] = raw["time"].to_numpy().astype(np.int64)
    arrays["attrs"] = np.array(json.dumps(raw.attrs))
    with suppress(OSError):
        number, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(number, "wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]
        Path(part).replace(path)


#: Most bytes of one reply; a station's whole record is well below.
MOST = 600_000_000
LEAST_PAUSE = 0.001
#: Longest wait (s) an archive may ask for before it is called busy.
PATIENCE = 120.0
#: Longest time (s) from asking to the last byte of a reply.
DEADLINE = 900.0
#: A wait (s) longer than this is announced.
NOTED = 2.0
AGAIN = (429, 500, 502, 503, 504)


class NotThereError(ArchiveError):
    """The archive has no such file: no weather for that station or year."""


def whole_body(response: requests.Response) -> bytes:
    """Read the whole body, noticing one that is cut short or endless."""
    parts = []
    size = 0
    try:
        for part in response.raw.stream(1 << 16, decode_content=True):
            size += len(part)
            if size > MOST:
                raise ArchiveError(
                    _(
                        "the reply of {host} is larger than {most:,} bytes; ask for "
                        "fewer years",
                        host=urlsplit(response.url).netloc,
                        most=MOST,
                    )
                )
            parts.append(part)
    finally:
        response.raw.close()
        response.raw.release_conn()
    return b"".join(parts)


def no_answer(request: requests.PreparedRequest, error: Exception) -> str:
    """Say in a sentence why no reply came, and what to do."""
    host = urlsplit(str(request.url)).netloc
    text = str(error)
    if isinstance(error, (requests.Timeout, urllib3.exceptions.TimeoutError)):
        why = N_(
            "{host} does not answer in time; try again later, or use --offline for "
            "what is kept"
        )
    elif "IncompleteRead" in text or isinstance(
        error, (urllib3.exceptions.ProtocolError, urllib3.exceptions.DecodeError)
    ):
        why = N_(
            "{host} broke off in the middle of its reply; try again later, or use "
            "--offline for what is kept"
        )
    else:
        why = N_(
            "{host} cannot be reached; try again later, or use --offline for what is "
            "kept"
        )
    return _(why, host=host)


def refuse_error_text(response: requests.Response, body: bytes) -> None:
    """Refuse a reply of status 200 that is an error message and not data."""
    if response.status_code != 200:
        return
    host = urlsplit(response.url).netloc
    start = body[:2000].lstrip(b"\xef\xbb\xbf \r\n\t")
    lower = start.lower()
    if not body:
        raise ArchiveError(_("{host} sent an empty reply; try again later", host=host))
    if lower.startswith((b"<!doctype html", b"<html")):
        title = re.search(rb"<title>([^<]{1,80})", start, re.I)
        stated = f" ({title[1].decode('utf-8', 'replace').strip()})" if title else ""
        raise ArchiveError(
            _(
                "{host} sent a web page instead of data{stated}; try again later",
                host=host,
                stated=stated,
            )
        )
    if lower.startswith(b"{") and re.search(rb'"error"\s*:\s*(true|")', start):
        raise ArchiveError(
            _("{host} refused: {reason}", host=host, reason=_reason(body))
        )
    if lower.startswith((b"error", b"<?xml version", b"<error")):
        first = start.split(b"\n")[0].decode("utf-8", "replace")[:160]
        raise ArchiveError(_("{host} refused: {reason}", host=host, reason=first))


def _reason(body: bytes) -> str:
    """Find the sentence in an error reply."""
    with suppress(ValueError):
        reply = json.loads(body)
        if isinstance(reply, dict):
            for name in ("reason", "detail", "messages", "message", "error"):
                if name in reply:
                    return str(reply[name])[:300]
    return body[:200].decode("utf-8", "replace").strip().partition("\n")[0]


def not_cached(request: Request, archive: Archive) -> ArchiveError:
    """Return the refusal of what was never fetched, when nothing may be."""
    return ArchiveError(
        _(
            "{archive} {request} is not kept on this computer; run once without "
            "--offline",
            archive=archive.title,
            request=request.label,
        )
    )


def refusal(response: Any, request: Request, archive: Archive) -> ArchiveError:
    """Return the refusal that a status other than 200 means."""
    status = response.status_code
    if status == 504 and not response.content:
        return not_cached(request, archive)
    if status == 404:
        return NotThereError(
            _(
                "{archive} has nothing for {request}",
                archive=archive.title,
                request=request.label or request.url,
            )
        )
    if status in (401, 403):
        why = (
            N_("{archive} does not let us in ({status}); check the key in {key}")
            if archive.key
            else N_("{archive} does not let us in ({status}); try again later")
        )
    elif status == 429:
        why = N_("{archive} has had too many requests (429); try again in an hour")
    elif status >= 500:
        why = N_("{archive} is out of order ({status}); try later")
    else:
        why = N_("{archive} refused ({status}): {reason}")
    reason = _reason(bytes(response.content))
    return ArchiveError(
        _(why, archive=archive.title, status=status, key=archive.key, reason=reason)
    )


def asked_wait(response: requests.Response) -> float | None:
    """Return the seconds a busy archive asks to wait; None when it says nothing clear.

    Raises `ArchiveError` for more than `PATIENCE`.
    """
    try:
        asked = urllib3.Retry().get_retry_after(response.raw)
    except (urllib3.exceptions.InvalidHeader, ValueError, OverflowError):
        return None
    if asked is not None and asked > PATIENCE:
        raise ArchiveError(
            _(
                "{host} is busy and asks to wait {asked:.0f} s; try again then",
                host=urlsplit(response.url).netloc,
                asked=asked,
            )
        )
    return asked


Answer = TypeVar("Answer")


def in_time(work: Callable[[], Answer], seconds: float) -> Answer:
    """Return what some work on the network brings.

    Raises `requests.Timeout` when it takes longer, be it that bytes drop in one by one.
    """
    outcome: Future[Answer] = Future()

    def run() -> None:
        try:
            outcome.set_result(work())
        except BaseException as error:  # raised again where the result is waited for
            outcome.set_exception(error)

    Thread(target=run, daemon=True).start()
    try:
        return outcome.result(seconds)
    except TimeoutError as error:
        if outcome.done():
            raise
        raise requests.Timeout(
            _("no whole reply within {seconds:g} s", seconds=seconds)
        ) from error


class Retries(Protocol):
    """How often a failed request is tried again, the first wait and the longest (s)."""

    retries: int
    backoff: float
    deadline: float

    def waiting(self, host: str, seconds: float) -> None:
        """Say that a host is waited for."""


class Adapter(LimiterAdapter):
    """Below the cache: paces, tries again, and checks a reply before it is kept."""

    def __init__(self, session: Retries, pause: float) -> None:
        self._session = session
        pause = max(pause, LEAST_PAUSE)
        super().__init__(
            per_second=1.0 / pause, burst=pause, limit_statuses=(), max_retries=0
        )

    def send(  # type: ignore[override]
        self, request: requests.PreparedRequest, **kwargs: Any
    ) -> requests.Response:
        """Send, waiting and trying again where that may help."""
        kwargs["stream"] = True
        session = self._session
        for left in range(session.retries, -1, -1):
            wait = session.backoff * 2.0 ** (session.retries - left)
            try:
                response, body = in_time(
                    lambda: self._whole(request, kwargs), session.deadline
                )
            except (
                requests.ConnectionError,
                requests.Timeout,
                urllib3.exceptions.HTTPError,
            ) as error:
                if not left:
                    raise ArchiveError(no_answer(request, error)) from error
                time.sleep(wait)
                continue
            response._content = body
            response._content_consumed = True  # type: ignore[attr-defined]
            if response.status_code not in AGAIN or not left:
                refuse_error_text(response, body)
                return response
            asked = asked_wait(response)
            wait = wait if asked is None else asked
            if wait > NOTED:
                session.waiting(urlsplit(str(request.url)).netloc, wait)
            time.sleep(wait)
        raise AssertionError("unreachable")

    def _whole(
        self, request: requests.PreparedRequest, options: dict[str, Any]
    ) -> tuple[requests.Response, bytes]:
        response = super().send(request, **options)
        return response, whole_body(response)
