"""Below the cache: an archive's pace, failures tried again, replies checked."""

from __future__ import annotations

import json
import re
import time
from contextlib import suppress
from typing import Any, Protocol
from urllib.parse import urlsplit

import requests
import urllib3
from requests_ratelimiter import LimiterAdapter

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.record import Archive, Request

#: Most bytes of one reply; a station's whole record is well below.
MOST = 1_500_000_000
LEAST_PAUSE = 0.001
#: Longest wait (s) an archive may ask for before it is called busy.
PATIENCE = 120.0
AGAIN = (429, 500, 502, 503, 504)


class NotThereError(ArchiveError):
    """The archive has no such file: no weather for that station or year."""


def whole_body(response: requests.Response) -> bytes:
    """Read the whole body, noticing one that is cut short or endless."""
    parts = []
    size = 0
    try:
        for part in response.raw.stream(1 << 20, decode_content=True):
            size += len(part)
            if size > MOST:
                raise ArchiveError(
                    f"the reply of {urlsplit(response.url).netloc} is larger than "
                    f"{MOST:,} bytes; ask for fewer years"
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
        why = "does not answer in time"
    elif "IncompleteRead" in text or isinstance(
        error, (urllib3.exceptions.ProtocolError, urllib3.exceptions.DecodeError)
    ):
        why = "broke off in the middle of its reply"
    else:
        why = "cannot be reached"
    return f"{host} {why}; try again later, or use --offline for what is kept"


def refuse_error_text(response: requests.Response, body: bytes) -> None:
    """Refuse a reply of status 200 that is an error message and not data."""
    if response.status_code != 200:
        return
    host = urlsplit(response.url).netloc
    start = body[:2000].lstrip(b"\xef\xbb\xbf \r\n\t")
    lower = start.lower()
    if not body:
        raise ArchiveError(f"{host} sent an empty reply; try again later")
    if lower.startswith((b"<!doctype html", b"<html")):
        title = re.search(rb"<title>([^<]{1,80})", start, re.I)
        stated = f" ({title[1].decode('utf-8', 'replace').strip()})" if title else ""
        raise ArchiveError(
            f"{host} sent a web page instead of data{stated}; try again later"
        )
    if lower.startswith(b"{") and re.search(rb'"error"\s*:\s*(true|")', start):
        raise ArchiveError(f"{host} refused: {_reason(body)}")
    if lower.startswith((b"error", b"<?xml version", b"<error")):
        first = start.split(b"\n")[0].decode("utf-8", "replace")[:160]
        raise ArchiveError(f"{host} refused: {first}")


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
        f"{archive.title} {request.label} is not kept on this computer; "
        "run once without --offline"
    )


def refusal(response: Any, request: Request, archive: Archive) -> ArchiveError:
    """Return the refusal that a status other than 200 means."""
    status = response.status_code
    if status == 504 and not response.content:
        return not_cached(request, archive)
    if status == 404:
        return NotThereError(
            f"{archive.title} has nothing for {request.label or request.url}"
        )
    if status in (401, 403):
        hint = f"check the key in {archive.key}" if archive.key else "try again later"
        return ArchiveError(f"{archive.title} does not let us in ({status}); {hint}")
    if status == 429:
        return ArchiveError(
            f"{archive.title} has had too many requests (429); try again in an hour"
        )
    if status >= 500:
        return ArchiveError(f"{archive.title} is out of order ({status}); try later")
    return ArchiveError(
        f"{archive.title} refused ({status}): {_reason(bytes(response.content))}"
    )


class Retries(Protocol):
    """How often a failed request is tried again, and the first wait (s)."""

    retries: int
    backoff: float


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
                response = super().send(request, **kwargs)
                body = whole_body(response)
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
            asked = urllib3.Retry().get_retry_after(response.raw)
            if asked is not None and asked > PATIENCE:
                raise ArchiveError(
                    f"{urlsplit(str(request.url)).netloc} is busy and asks to wait "
                    f"{asked:.0f} s; try again then"
                )
            time.sleep(wait if asked is None else asked)
        raise AssertionError("unreachable")
