"""What the pages of one server share."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from flask import current_app, g

from emcforecast.language import speaking, spoken_language
from emcforecast.web.guard import Guard
from emcforecast.web.jobs import BusyError, Job, Pool, Tell
from emcforecast.web.serving import Serving
from emcforecast.web.sources import Sources
from emcforecast.web.store import Kept, Store
from emcforecast.web.yards import ServedYard

Answer = Callable[[Tell], Kept]
"""Works an answer out and makes it into what is kept of it."""
SITE = "emcforecast"
PAGE_SECONDS = 0.8
"""A page waits so long for its answer before it shows how far it is."""
FILE_SECONDS = 25.0
MOST_WAITING = 4
"""Requests that may wait for an answer at once; others are told how far it is."""


@dataclass(frozen=True)
class Site:
    """The parts of a server, and the one way to an answer."""

    serving: Serving
    guard: Guard
    pool: Pool
    store: Store
    sources: Sources
    yard: ServedYard | None
    waits: threading.Semaphore = field(
        default_factory=lambda: threading.Semaphore(MOST_WAITING)
    )

    def find(
        self,
        key: str,
        answer: Answer,
        seconds: float = PAGE_SECONDS,
    ) -> Kept | Job:
        """Return the answer of a question, or the job that works it out.

        Parameters
        ----------
        key : str
            Of the question.
        answer : callable
            Answers it.
        seconds : float
            So long it may be waited for.

        Raises
        ------
        BusyError
            When too many questions wait.
        """
        kept = self.store.get(key)
        if kept is not None:
            return kept

        job = self.begin(key, answer, g.session or "calendar")
        if self.waits.acquire(blocking=False):
            try:
                job.ended.wait(seconds)
            finally:
                self.waits.release()
        return self.store.get(key) or job

    def begin(self, key: str, answer: Answer, client: str) -> Job:
        """Work a question out for a client, or join those who wait for it.

        Raises
        ------
        BusyError
            When too many questions wait.
        """
        language = spoken_language()

        def work(tell: Tell) -> None:
            if self.store.get(key) is None:
                with speaking(language):
                    self.store.put(key, answer(tell))

        return self.pool.ask(key, client, work)

    def now(self, key: str, answer: Answer) -> Kept | Job:
        """Return the answer for a file, which cannot show how far it is.

        Raises
        ------
        BusyError
            When it takes too long, or too many questions wait.
        """
        found = self.find(key, answer, FILE_SECONDS)
        if isinstance(found, Job) and not found.ended.is_set():
            raise BusyError
        return found


def this_site() -> Site:
    """Return the site of the application that answers a request."""
    site: Site = current_app.extensions[SITE]
    return site
