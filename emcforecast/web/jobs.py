"""Questions worked out in a bounded pool: each once, however many clients ask it."""

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Literal

from emcforecast.errors import EmcforecastError

State = Literal["waiting", "working", "done", "refused", "failed", "stopped"]
Tell = Callable[..., None]
Work = Callable[[Tell], None]
KEPT = 200
"""Jobs remembered after their end, for those who ask how they went."""
REFUSED_SECONDS = 20.0
"""So long a refusal stands; then the question may be asked anew."""
log = logging.getLogger(__name__)


class StoppedError(Exception):
    """Nobody waits for the answer any more."""


class BusyError(Exception):
    """Too many questions wait already."""


@dataclass
class Job:
    """One question being worked out.

    Parameters
    ----------
    key : str
        Of the question.
    state : str
        "waiting", "working", "done", "refused", "failed" or "stopped".
    fraction : float
        How much is done, 0 to 1.
    what : str
        What is being done.
    message : str
        Why it was refused.
    """

    key: str
    state: State = "waiting"
    fraction: float = 0.0
    what: str = ""
    message: str = ""
    clients: set[str] = field(default_factory=set)
    ended: threading.Event = field(default_factory=threading.Event)
    ended_at: float = 0.0

    def tell(self, fraction: float, what: str | None = None) -> None:
        """Note how far it is; stops the work where nobody waits for it."""
        if not self.clients:
            raise StoppedError
        self.fraction = min(max(fraction, 0.0), 1.0)
        self.what = what or self.what


class Pool:
    """A few workers and a bounded queue before them."""

    def __init__(self, workers: int, waiting: int) -> None:
        """Begin with no work.

        Parameters
        ----------
        workers : int
            Questions worked out at once.
        waiting : int
            Most questions in the queue.
        """
        self._room = workers + waiting
        self._jobs: dict[str, Job] = {}
        self._lock = threading.Lock()
        self._pool = ThreadPoolExecutor(workers, thread_name_prefix="answer")

    def ask(self, key: str, client: str, work: Work) -> Job:
        """Return the job of a question, begun now if nobody has asked it yet.

        Raises
        ------
        BusyError
            When too many wait.
        """
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and (not job.ended.is_set() or self._stands(job)):
                job.clients.add(client)
                return job
            if sum(not j.ended.is_set() for j in self._jobs.values()) >= self._room:
                raise BusyError
            job = self._jobs[key] = Job(key, clients={client})
            self._forget()
        self._pool.submit(self._run, job, work).add_done_callback(
            lambda future: self._end(job, future)
        )
        return job

    def find(self, key: str) -> Job | None:
        """Return the job of a question, if it is remembered."""
        return self._jobs.get(key)

    def leave(self, key: str, client: str) -> None:
        """Stop a job for one client: it ends where no other waits for it."""
        with self._lock:
            job = self._jobs.get(key)
            if job is not None:
                job.clients.discard(client)

    def close(self) -> None:
        """Begin nothing more, and stop what is going on."""
        with self._lock:
            for job in self._jobs.values():
                job.clients.clear()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _run(self, job: Job, work: Work) -> None:
        job.tell(0.0)
        job.state = "working"
        work(job.tell)

    def _end(self, job: Job, future: "Future[None]") -> None:
        error = None if future.cancelled() else future.exception()
        if future.cancelled() or isinstance(error, StoppedError):
            job.state = "stopped"
        elif isinstance(error, EmcforecastError):
            job.state, job.message = "refused", str(error)
        elif error is not None:
            job.state = "failed"
            log.error("a question failed", exc_info=error)
        else:
            job.state, job.fraction = "done", 1.0
        job.ended_at = time.monotonic()
        job.ended.set()

    def _stands(self, job: Job) -> bool:
        """Tell whether the end of a job still answers the question."""
        young = time.monotonic() - job.ended_at < REFUSED_SECONDS
        return job.state in ("refused", "failed") and young

    def _forget(self) -> None:
        ended = [key for key, job in self._jobs.items() if job.ended.is_set()]
        for key in ended[: max(0, len(ended) - KEPT)]:
            del self._jobs[key]
