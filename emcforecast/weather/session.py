"""The only place that touches the network: cached, paced, patient and discreet."""

from __future__ import annotations

import hashlib
import json
import logging
import os
import re
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import requests
import urllib3
from platformdirs import user_cache_path
from requests_cache import NEVER_EXPIRE, CachedSession
from requests_cache.backends.base import BaseCache
from requests_cache.backends.filesystem import FileDict
from requests_ratelimiter import LimiterAdapter

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.record import Archive, Request

#: Environment variable that moves the cache.
CACHE_VARIABLE = "EMCFORECAST_CACHE"
#: Environment variable with the address of a mirror: MIRROR/host/path.
MIRROR_VARIABLE = "EMCFORECAST_MIRROR"
#: Seconds to wait for a connection, and for the next bytes.
TIMEOUT = (10.0, 90.0)
RETRIES = 4
LEAST_PAUSE = 0.001
BACKOFF = 1.0
#: Longest wait (s) an archive may ask for before it is called busy.
PATIENCE = 120.0
#: Most bytes of one reply; a station's whole record is well below.
MOST = 1_500_000_000
A_DAY = 86_400
#: A span that ended longer ago than this no longer changes.
SETTLED = timedelta(days=30)
AGAIN = (429, 500, 502, 503, 504)
SECRETS = ("PRIVATE-TOKEN", "Authorization", "Cookie", "key", "apikey", "token")
AGENT = "emcforecast (wood drying forecasts; polite, cached)"

Say = Callable[[str], None]


class NotThereError(ArchiveError):
    """The archive has no such file: no weather for that station or year."""


def is_settled(request: Request) -> bool:
    """Tell whether what a request brings no longer changes.

    Parameters
    ----------
    request : Request
        What is asked.

    Returns
    -------
    bool
        True when it covers a span that ended more than 30 days ago.
    """
    return request.last is not None and request.last + SETTLED < date.today()


def cache_folder() -> Path:
    """Return where replies are kept.

    Returns
    -------
    pathlib.Path
        The folder named by ``EMCFORECAST_CACHE``, else the user's cache folder.
    """
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named) if named else user_cache_path("emcforecast") / "archives"


class _Files(FileDict):
    """Replies as files, written whole or not at all, whoever else writes them."""

    broken: Callable[[OSError], None]

    def __setitem__(self, key: str, value: Any) -> None:
        target = self._key2path(key)
        try:
            number, name = tempfile.mkstemp(dir=self.cache_dir, suffix=".part")
            with os.fdopen(number, "w", encoding="utf-8") as file:
                file.write(self.serialize(value))
            Path(name).replace(target)
        except OSError as error:
            self.broken(error)


class _Adapter(LimiterAdapter):
    """Below the cache: paces, tries again, and checks a reply before it is kept."""

    def __init__(self, session: Session, pause: float) -> None:
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
                body = _body(response)
            except (
                requests.ConnectionError,
                requests.Timeout,
                urllib3.exceptions.HTTPError,
            ) as error:
                if not left:
                    raise ArchiveError(_no_answer(request, error)) from error
                time.sleep(wait)
                continue
            response._content = body
            response._content_consumed = True  # type: ignore[attr-defined]
            if response.status_code not in AGAIN or not left:
                _refuse_error_text(response, body)
                return response
            asked = urllib3.Retry().get_retry_after(response.raw)
            if asked is not None and asked > PATIENCE:
                raise ArchiveError(
                    f"{urlsplit(str(request.url)).netloc} is busy and asks to wait "
                    f"{asked:.0f} s; try again then"
                )
            time.sleep(wait if asked is None else asked)
        raise AssertionError("unreachable")


def _body(response: requests.Response) -> bytes:
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


def _no_answer(request: requests.PreparedRequest, error: Exception) -> str:
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


def _refuse_error_text(response: requests.Response, body: bytes) -> None:
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


class Session:
    """Asks archives, from the cache where possible.

    Parameters
    ----------
    offline : bool
        Use only what the cache holds.
    folder : pathlib.Path, optional
        Where the cache is; default `cache_folder`.
    say : callable, optional
        Told, in a sentence, what the person should know (stale data, no cache).
    mirror : str, optional
        Address that stands in for every archive: ``MIRROR/host/path``; default the
        environment variable ``EMCFORECAST_MIRROR``.
    timeout : tuple of float
        Seconds for a connection and between bytes.
    retries : int
        How often to try again.
    backoff : float
        First wait between tries (s), doubled each time.

    Notes
    -----
    Finished years never expire, recent ones after a day. Keys travel in headers that
    are neither matched nor stored, and never appear in a message.
    """

    def __init__(
        self,
        *,
        offline: bool = False,
        folder: Path | None = None,
        say: Say | None = None,
        mirror: str | None = None,
        timeout: tuple[float, float] = TIMEOUT,
        retries: int = RETRIES,
        backoff: float = BACKOFF,
    ) -> None:
        self.offline = offline
        self.say: Say = say if say is not None else _silent
        self.timeout = timeout
        self.retries = retries
        self.backoff = backoff
        stands_in = mirror or os.environ.get(MIRROR_VARIABLE)
        self._mirror = stands_in.rstrip("/") if stands_in else None
        self._told: set[str] = set()
        self._adapters: dict[str, _Adapter] = {}
        self.folder: Path | None = folder if folder is not None else cache_folder()
        # Each stale reply would be logged with a traceback; the person is told instead.
        logging.getLogger("requests_cache").setLevel(logging.CRITICAL)
        self._http = CachedSession(
            backend=self._backend(),
            cache_control=False,
            stale_if_error=True,
            allowable_methods=("GET",),
            allowable_codes=(200,),
            ignored_parameters=SECRETS,
        )
        self._http.headers["User-Agent"] = AGENT

    def _backend(self) -> BaseCache:
        cache = BaseCache()
        folder = self.folder
        if folder is None:
            return cache
        try:
            folder.mkdir(parents=True, exist_ok=True)
            cache.responses = _Files(folder, decode_content=False)
            cache.responses.broken = self._unkept
        except OSError as error:
            self._unkept(error)
            self.folder = None
        return cache

    def _unkept(self, error: OSError) -> None:
        self._tell_once(
            f"replies cannot be kept in {self.folder} ({error.strerror or error}); "
            f"set {CACHE_VARIABLE} to a folder that can be written"
        )

    def _tell_once(self, sentence: str) -> None:
        if sentence not in self._told:
            self._told.add(sentence)
            self.say(sentence)

    def get(self, request: Request, archive: Archive) -> bytes:
        """Return the reply to a request.

        Parameters
        ----------
        request : Request
            What to ask.
        archive : Archive
            Of whom: its pace and its key.

        Returns
        -------
        bytes
            The reply.

        Raises
        ------
        ArchiveError
            When it cannot be had, saying what to do.
        """
        key = os.environ.get(archive.key, "") if archive.key else ""
        if archive.key and not key and not self.offline:
            raise ArchiveError(
                f"{archive.title} needs your own key: set the environment variable "
                f"{archive.key}"
            )
        headers = {"PRIVATE-TOKEN": key} if key else {}
        if request.body:
            return self._job(request, archive, headers)
        age = NEVER_EXPIRE if is_settled(request) else A_DAY
        return self._ask(request, archive, headers, age)

    def _ask(
        self, request: Request, archive: Archive, headers: dict[str, str], age: int
    ) -> bytes:
        response: Any = self._http.get(
            self._paced(request.url, archive),
            params=list(request.params),
            headers=headers,
            timeout=self.timeout,
            expire_after=age,
            only_if_cached=self.offline,
        )
        if response.status_code == 200:
            if getattr(response, "from_cache", False) and response.is_expired:
                when = f"{response.created_at:%Y-%m-%d}"
                self._tell_once(
                    f"{archive.title} could not be asked anew; using what was kept "
                    f"on {when}"
                )
            return bytes(response.content)
        raise _refusal(response, request, archive)

    def _paced(self, url: str, archive: Archive) -> str:
        """Keep this archive's pace with its host; go by the mirror if there is one."""
        host = urlsplit(url).netloc
        if self._mirror:
            url = f"{self._mirror}/{host}{urlsplit(url).path}"
        door = f"{urlsplit(url).scheme}://{urlsplit(url).netloc}/"
        if door not in self._adapters:
            self._adapters[door] = _Adapter(self, archive.pause)
            self._http.mount(door, self._adapters[door])
        return url

    def _job(
        self, request: Request, archive: Archive, headers: dict[str, str]
    ) -> bytes:
        """Have the archive run a job, wait for it and fetch what it made."""
        name = hashlib.sha256((request.url + request.body).encode()).hexdigest()
        kept = None if self.folder is None else self.folder / f"job-{name}.bin"
        if kept is not None and kept.exists():
            return kept.read_bytes()
        if self.offline:
            raise _not_kept(request, archive)
        with self._http.cache_disabled():
            reply = self._json("POST", request.url, archive, headers, request.body)
            root = request.url.partition("/processes/")[0]
            job = f"{root}/jobs/{reply.get('jobID', '')}"
            while reply.get("status") not in ("successful", "failed", "rejected"):
                time.sleep(max(self.backoff, archive.pause))
                reply = self._json("GET", job, archive, headers)
            if reply["status"] != "successful":
                raise ArchiveError(
                    f"the job at {archive.title} {reply['status']}: "
                    f"{reply.get('message') or 'no reason given'}"
                )
            made = self._json("GET", f"{job}/results", archive, headers)
            address = made.get("asset", {}).get("value", {}).get("href", "")
            payload = self._ask(Request(address), archive, {}, A_DAY)
        if kept is not None:
            part = kept.with_suffix(f".{os.getpid()}.part")
            try:
                part.write_bytes(payload)
                part.replace(kept)
            except OSError as error:
                self._unkept(error)
        return payload

    def _json(
        self,
        method: str,
        url: str,
        archive: Archive,
        headers: dict[str, str],
        body: str = "",
    ) -> dict[str, Any]:
        response: Any = self._http.request(
            method,
            self._paced(url, archive),
            data=body or None,
            headers={**headers, "Content-Type": "application/json"},
            timeout=self.timeout,
        )
        if response.status_code not in (200, 201):
            raise _refusal(response, Request(url), archive)
        try:
            reply = json.loads(response.content)
        except ValueError as error:
            raise ArchiveError(
                f"{archive.title} sent no JSON; try again later"
            ) from error
        return reply if isinstance(reply, dict) else {}

    def close(self) -> None:
        """Close every connection."""
        self._http.close()  # type: ignore[no-untyped-call]
        for adapter in self._adapters.values():
            adapter.close()

    def __enter__(self) -> Session:
        """Return the session."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()


def _silent(sentence: str) -> None:
    """Say nothing."""


def _not_kept(request: Request, archive: Archive) -> ArchiveError:
    return ArchiveError(
        f"{archive.title} {request.label} is not kept on this computer; "
        "run once without --offline"
    )


def _refusal(response: Any, request: Request, archive: Archive) -> ArchiveError:
    status = response.status_code
    if status == 504 and not response.content:
        return _not_kept(request, archive)
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
