"""Below the cache: an archive's pace is kept, and a failure tried again."""

from __future__ import annotations

import time
from typing import Any, Protocol
from urllib.parse import urlsplit

import requests
import urllib3
from requests_ratelimiter import LimiterAdapter

from emcforecast.errors import ArchiveError
from emcforecast.weather.network.replies import no_answer, refuse_error_text, whole_body

LEAST_PAUSE = 0.001
#: Longest wait (s) an archive may ask for before it is called busy.
PATIENCE = 120.0
AGAIN = (429, 500, 502, 503, 504)


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
