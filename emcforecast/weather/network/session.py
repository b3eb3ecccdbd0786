"""Requests to archives: cached, paced, tried again; the only use of the network."""

from __future__ import annotations

import hashlib
import logging
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import requests
import urllib3
from requests_cache import NEVER_EXPIRE, CachedSession
from requests_cache.backends.base import BaseCache

from emcforecast.errors import ArchiveError
from emcforecast.files import parse_json
from emcforecast.language import _
from emcforecast.weather.archives.record import Archive, Request
from emcforecast.weather.formats.content import whole
from emcforecast.weather.network.transport import (
    CACHE_VARIABLE,
    DEADLINE,
    Adapter,
    Files,
    cache_folder,
    is_fresh,
    is_settled,
    not_cached,
    refusal,
)
from emcforecast.weather.repairs import Repair, RepairKind, repair

#: Environment variable with the address of a mirror: MIRROR/host/path.
MIRROR_VARIABLE = "EMCFORECAST_MIRROR"
#: Seconds to wait for a connection, and for the next bytes.
TIMEOUT = (10.0, 90.0)
RETRIES = 4
BACKOFF = 1.0
REDIRECTS = 8
#: Longest time (s) an archive may work on a job, and between two looks at it.
JOB_LIMIT, JOB_PAUSE = 3600.0, 60.0
A_DAY = 86_400
SECRETS = ("PRIVATE-TOKEN", "Authorization", "Cookie", "key", "apikey", "token")
AGENT = "emcforecast (wood drying forecasts; polite, cached)"


@contextmanager
def _one_line(archive: Archive) -> Iterator[None]:
    """Refuse what redirects and addresses may come to."""
    try:
        yield
    except ArchiveError:
        raise
    except requests.TooManyRedirects as error:
        raise ArchiveError(
            _(
                "{archive} sends us round in a circle; try again later",
                archive=archive.title,
            )
        ) from error
    except (
        requests.RequestException,
        urllib3.exceptions.HTTPError,
        ValueError,
    ) as error:
        raise ArchiveError(
            _(
                "{archive} sends us to an address that cannot be used "
                "({error}); try again later",
                archive=archive.title,
                error=str(error)[:80],
            )
        ) from error


OnNotice = Callable[[Repair], None]


class _Http(CachedSession):
    """The requests library, but that no secret follows a redirect to another host."""

    def rebuild_auth(
        self, prepared_request: requests.PreparedRequest, response: requests.Response
    ) -> None:
        """Take every secret out where the new address is of another host."""
        target, asked = str(prepared_request.url), str(response.request.url)
        if self.should_strip_auth(asked, target):  # type: ignore[no-untyped-call]
            for name in SECRETS:
                prepared_request.headers.pop(name, None)
        super().rebuild_auth(prepared_request, response)  # type: ignore[no-untyped-call]


class Session:
    """Asks archives, from the cache where possible.

    `offline`: use only what the cache, in `folder`, holds. ``on_notice(repair)`` is
    called for what the person should know (stale data, no cache). `mirror` stands in
    for every archive, ``MIRROR/host/path``; default the environment's
    ``EMCFORECAST_MIRROR``. `timeout`: seconds for a connection and between bytes;
    `retries`: how often to try again; `backoff`: first wait between tries (s), doubled
    each time; `deadline`: longest time for one whole reply (s). The attribute `stale`
    is whether the last reply is an old one that could not be asked anew.

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
        on_notice: OnNotice | None = None,
        mirror: str | None = None,
        timeout: tuple[float, float] = TIMEOUT,
        retries: int = RETRIES,
        backoff: float = BACKOFF,
        deadline: float = DEADLINE,
    ) -> None:
        self.offline = offline
        self.on_notice = on_notice
        self.timeout = timeout
        self.retries = retries
        self.backoff = backoff
        self.deadline = deadline
        self.stale = False
        self._reply: str | Path | None = None
        stands_in = mirror or os.environ.get(MIRROR_VARIABLE)
        self._mirror = stands_in.rstrip("/") if stands_in else None
        self._noticed: set[Repair] = set()
        self._adapters: dict[str, Adapter] = {}
        self.folder: Path | None = folder if folder is not None else cache_folder()
        # Each stale reply would be logged with a traceback; a notice serves instead.
        logging.getLogger("requests_cache").setLevel(logging.CRITICAL)
        self._http = _Http(
            backend=self._backend(),
            cache_control=False,
            stale_if_error=True,
            allowable_methods=("GET",),
            allowable_codes=(200,),
            ignored_parameters=SECRETS,
        )
        self._http.headers["User-Agent"] = AGENT
        self._http.max_redirects = REDIRECTS

    def _backend(self) -> BaseCache:
        cache = BaseCache()
        folder = self.folder
        if folder is None:
            return cache
        try:
            folder.mkdir(parents=True, exist_ok=True)
            cache.responses = Files(folder, decode_content=False)
            cache.responses.broken = self._unkept
        except OSError as error:
            self._unkept(error)
            self.folder = None
        return cache

    def _unkept(self, error: OSError) -> None:
        self._notice_once(
            repair(
                RepairKind.CACHE_UNWRITABLE,
                folder=str(self.folder),
                reason=str(error.strerror or error),
                variable=CACHE_VARIABLE,
            )
        )

    def waiting(self, host: str, seconds: float) -> None:
        """Say that a busy archive is waited for."""
        self._notice_once(repair(RepairKind.ARCHIVE_WAITED, host=host, seconds=seconds))

    def _notice_once(self, notice: Repair) -> None:
        if notice not in self._noticed:
            self._noticed.add(notice)
            if self.on_notice is not None:
                self.on_notice(notice)

    def get(self, request: Request, archive: Archive) -> bytes:
        """Return the reply to a request.

        Raises `ArchiveError` when it cannot be had, saying what to do.
        """
        key = os.environ.get(archive.key, "") if archive.key else ""
        if archive.key and not key and not self.offline:
            raise ArchiveError(
                _(
                    "{archive} needs your own key: set the environment variable {key}",
                    archive=archive.title,
                    key=archive.key,
                )
            )
        headers = {"PRIVATE-TOKEN": key} if key else {}
        if request.body:
            return self._job(request, archive, headers)
        age = NEVER_EXPIRE if is_settled(request) else A_DAY
        return self._ask(request, archive, headers, age)

    def forget(self) -> None:
        """Drop the last reply from the cache: it could not be read."""
        reply, self._reply = self._reply, None
        if isinstance(reply, Path):
            reply.unlink(missing_ok=True)
        elif reply is not None:
            self._http.cache.delete(reply)

    def _ask(
        self, request: Request, archive: Archive, headers: dict[str, str], age: int
    ) -> bytes:
        with _one_line(archive):
            response: Any = self._http.get(
                self._paced(request.url, archive),
                params=list(request.params),
                headers=headers,
                timeout=self.timeout,
                expire_after=age,
                only_if_cached=self.offline,
            )
        if response.status_code == 200:
            self._reply = getattr(response, "cache_key", None)
            cached = bool(getattr(response, "from_cache", False))
            self.stale = cached and bool(response.is_expired)
            if self.stale:
                self._notice_stale(archive, response.created_at)
            return bytes(response.content)
        raise refusal(response, request, archive)

    def _notice_stale(self, archive: Archive, when: datetime) -> None:
        day = f"{when:%Y-%m-%d}"
        self._notice_once(
            repair(RepairKind.STALE_REPLY, archive=archive.title, day=day)
        )

    def _paced(self, url: str, archive: Archive) -> str:
        """Keep this archive's pace with its host; go by the mirror if there is one."""
        host = urlsplit(url).netloc
        if self._mirror:
            url = f"{self._mirror}/{host}{urlsplit(url).path}"
        root = f"{urlsplit(url).scheme}://{urlsplit(url).netloc}/"
        if root not in self._adapters:
            self._adapters[root] = Adapter(self, archive.pause)
            self._http.mount(root, self._adapters[root])
        return url

    def _job(
        self, request: Request, archive: Archive, headers: dict[str, str]
    ) -> bytes:
        """Return what an archive's job made, from the cache where that will do."""
        name = hashlib.sha256((request.url + request.body).encode()).hexdigest()
        cached = None if self.folder is None else self.folder / f"job-{name}.bin"
        self.stale = False
        if cached is not None and is_fresh(cached, request):
            self._reply = cached
            return cached.read_bytes()
        try:
            if self.offline:
                raise not_cached(request, archive)
            payload = self._made(request, archive, headers)
        except ArchiveError:
            if cached is None or not cached.exists():
                raise
            self.stale = True
            self._notice_stale(archive, datetime.fromtimestamp(cached.stat().st_mtime))
            return cached.read_bytes()
        if cached is not None:
            part = cached.with_suffix(f".{os.getpid()}.part")
            try:
                part.write_bytes(payload)
                part.replace(cached)
                self._reply = cached
            except OSError as error:
                self._unkept(error)
        return payload

    def _made(
        self, request: Request, archive: Archive, headers: dict[str, str]
    ) -> bytes:
        """Have the archive run a job, wait for it and fetch what it made."""
        with self._http.cache_disabled():
            reply = self._json("POST", request.url, archive, headers, request.body)
            base = request.url.partition("/processes/")[0]
            job = f"{base}/jobs/{reply.get('jobID', '')}"
            pause, until = max(self.backoff, archive.pause), time.monotonic()
            until += JOB_LIMIT
            while reply.get("status") not in ("successful", "failed", "rejected"):
                if time.monotonic() + pause > until:
                    raise ArchiveError(
                        _(
                            "{archive} has worked on this for {minutes:.0f} minutes; "
                            "try again later",
                            archive=archive.title,
                            minutes=JOB_LIMIT / 60,
                        )
                    )
                time.sleep(pause)
                pause = min(1.5 * pause, JOB_PAUSE)
                reply = self._json("GET", job, archive, headers)
            if reply["status"] != "successful":
                raise ArchiveError(
                    _(
                        "the job at {archive} {status}: {reason}",
                        archive=archive.title,
                        status=reply["status"],
                        reason=reply.get("message") or _("no reason given"),
                    )
                )
            made = self._json("GET", f"{job}/results", archive, headers)
            with whole(
                _("the reply of {archive}", archive=archive.title), ArchiveError
            ):
                address = str(made["asset"]["value"]["href"])
            return self._ask(Request(address), archive, {}, A_DAY)

    def _json(
        self,
        method: str,
        url: str,
        archive: Archive,
        headers: dict[str, str],
        body: str = "",
    ) -> dict[str, Any]:
        with _one_line(archive):
            response: Any = self._http.request(
                method,
                self._paced(url, archive),
                data=body or None,
                headers={**headers, "Content-Type": "application/json"},
                timeout=self.timeout,
            )
        if response.status_code not in (200, 201):
            raise refusal(response, Request(url), archive)
        try:
            reply = parse_json(response.content)
        except ValueError as error:
            raise ArchiveError(
                _("{archive} sent no JSON; try again later", archive=archive.title)
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
