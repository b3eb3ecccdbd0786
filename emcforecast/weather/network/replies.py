"""What comes back from an archive: a whole body, or a sentence why there is none."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

import requests
import urllib3

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.record import Archive, Request

#: Most bytes of one reply; a station's whole record is well below.
MOST = 1_500_000_000


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
        said = f" ({title[1].decode('utf-8', 'replace').strip()})" if title else ""
        raise ArchiveError(
            f"{host} sent a web page instead of data{said}; try again later"
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


def not_kept(request: Request, archive: Archive) -> ArchiveError:
    """Return the refusal of what was never fetched, when nothing may be."""
    return ArchiveError(
        f"{archive.title} {request.label} is not kept on this computer; "
        "run once without --offline"
    )


def refusal(response: Any, request: Request, archive: Archive) -> ArchiveError:
    """Return the refusal that a status other than 200 means."""
    status = response.status_code
    if status == 504 and not response.content:
        return not_kept(request, archive)
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
