"""Blocks of a map computed one after another, on threads or on a cluster."""

import ctypes
import logging
import platform
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import xarray as xr

from emcforecast._types import Progress
from emcforecast.errors import InputError
from emcforecast.grid.blocks import Region
from emcforecast.language import N_, _
from emcforecast.physics.kernels.compiled import processors
from emcforecast.weather.formats.content import whole

if TYPE_CHECKING:
    from distributed import Client

AHEAD = 2
"""Blocks under way for each worker, so that none waits for the next."""
CONNECT_SECONDS = 20.0
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD = -1, -3
"""Names of glibc's settings (malloc.h)."""
KEPT_BYTES = 256 << 20
"""Freed memory that is kept at most."""
LARGEST_KEPT, LARGEST_KEPT_OF_RECORDS = 32 << 20, 4 << 20
"""Largest array whose memory is kept: of chunks read one after another, and of whole
records, whose arrays are so large that what is kept between them is mostly holes."""
PART = N_("a part of the grid")
"""What is read while it is computed."""

Compute = Callable[[Region], xr.Dataset]
"""From the slices of a block to its lazy answer."""
Write = Callable[[int, Region, xr.Dataset], None]
Blocks = Sequence[tuple[int, Region]]


def run_blocks(
    blocks: Blocks,
    compute: Compute,
    write: Write,
    *,
    threads: int | None = None,
    processes: bool = False,
    scheduler: str | None = None,
    largest_kept: int = LARGEST_KEPT,
    progress: Progress | None = None,
    say: Callable[[str], None] | None = None,
) -> None:
    """Compute blocks and write each as soon as it is there.

    Parameters
    ----------
    blocks : sequence of (int, mapping)
        Number and slices of each.
    compute : callable
        Returns the lazy answer of a block.
    write : callable
        Called with number, slices and the computed answer, here, one at a time.
    threads : int, optional
        How many blocks at a time; as many as there are cores when left out.
    processes : bool
        Each block in a process instead of a thread: what holds the
        interpreter's lock, as boards do, gains nothing from threads.
    scheduler : str, optional
        Address of a dask.distributed scheduler, "tcp://host:8786"; its workers then
        compute, and whoever is lost has its blocks done again by another.
    largest_kept : int
        Bytes of the largest array whose memory is kept when freed.
    progress : callable, optional
        Called with the fraction done and what is being done.
    say : callable, optional
        Told the address of the cluster's dashboard.

    Raises
    ------
    InputError
        When the scheduler cannot be reached.
    """
    tell = progress or (lambda fraction, what: None)
    done = 0
    with ExitStack() as stack:
        workers = threads or processors()
        if scheduler is not None:
            client = stack.enter_context(connect(scheduler))
            if say is not None and client.dashboard_link:
                say(_("dashboard: {address}", address=client.dashboard_link))
            found = _on_cluster(blocks, compute, client, largest_kept)
        elif processes and min(workers, len(blocks)) > 1:
            client = stack.enter_context(_own_processes(min(workers, len(blocks))))
            found = _on_cluster(blocks, compute, client, largest_kept)
        else:
            keep_freed_memory(largest_kept)
            found = _on_threads(blocks, compute, workers, stack)
        for number, region, part in found:
            write(number, region, part)
            done += 1
            part_done = _("block {done} of {count}", done=done, count=len(blocks))
            tell(done / len(blocks), part_done)


def keep_freed_memory(largest: int = LARGEST_KEPT) -> None:
    """Let the C library keep what a chunk frees for the chunk that comes next.

    `largest`: bytes of the largest array that it is kept of. glibc otherwise gives
    memory back, and the system clears it anew for every chunk: a quarter of the time of
    a pass over a fast store. Elsewhere nothing is done.
    """
    if platform.libc_ver()[0] == "glibc":
        library = ctypes.CDLL(None)
        library.mallopt(M_TRIM_THRESHOLD, KEPT_BYTES)
        library.mallopt(M_MMAP_THRESHOLD, largest)


def give_back_memory() -> None:
    """Let the C library (glibc) give back what one kind of work freed, before another.

    Arrays of other sizes and threads would not fit the holes it leaves.
    """
    if platform.libc_ver()[0] == "glibc":
        ctypes.CDLL(None).malloc_trim(0)


def _on_threads(
    blocks: Blocks, compute: Compute, workers: int, stack: ExitStack
) -> Iterator[tuple[int, Region, xr.Dataset]]:
    """As many blocks at a time as there are threads; few blocks share the threads."""
    from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait

    side_by_side = max(min(workers, len(blocks)), 1)
    inner = workers // side_by_side
    pool = stack.enter_context(ThreadPoolExecutor(side_by_side))

    def one(region: Region) -> xr.Dataset:
        lazy = compute(region)
        with whole(_(PART)):
            if inner > 1:
                return lazy.compute(scheduler="threads", num_workers=inner)
            return lazy.compute(scheduler="synchronous")

    waiting = iter(blocks)
    running: dict[Future[xr.Dataset], tuple[int, Region]] = {}

    def begin() -> None:
        for number, region in waiting:
            running[pool.submit(one, region)] = number, region
            return

    for _worker in range(side_by_side):
        begin()
    while running:
        ready, _rest = wait(running, return_when=FIRST_COMPLETED)
        for future in ready:
            number, region = running.pop(future)
            part = future.result()
            begin()
            yield number, region, part


def _on_cluster(
    blocks: Blocks, compute: Compute, client: "Client", largest_kept: int
) -> Iterator[tuple[int, Region, xr.Dataset]]:
    """Give each worker some blocks at a time; the answers come here."""
    from distributed import as_completed

    # Workers are set to give back all they free; a new one is only slower.
    client.run(keep_freed_memory, largest_kept)
    waiting = iter(blocks)
    running: dict[str, tuple[int, Region]] = {}

    def begin() -> Any:
        for number, region in waiting:
            future = client.compute(compute(region))
            running[future.key] = number, region
            return future
        return None

    cores = max(sum(client.ncores().values()), 1)
    futures = as_completed([f for f in (begin() for _ in range(AHEAD * cores)) if f])
    for future in futures:
        number, region = running.pop(future.key)
        with whole(_(PART)):
            part = future.result()
        future.release()
        more = begin()
        if more is not None:
            futures.add(more)
        yield number, region, part


@contextmanager
def _own_processes(count: int) -> "Iterator[Client]":
    """Start as many workers on this machine, a process each, and end them after."""
    from distributed import Client, LocalCluster

    # The plan of blocks bounds their memory; a worker near its share is no fault.
    with (
        TemporaryDirectory(prefix="emcforecast-", ignore_cleanup_errors=True) as folder,
        LocalCluster(
            n_workers=count,
            threads_per_worker=1,
            processes=True,
            memory_limit=None,
            dashboard_address=None,
            local_directory=folder,
            silence_logs=logging.ERROR,
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


def connect(scheduler: str) -> "Client":
    """Connect to a running dask.distributed scheduler.

    Raises
    ------
    InputError
        When there is none at that address.
    """
    from distributed import Client

    try:
        client = Client(scheduler, timeout=CONNECT_SECONDS)
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            _(
                "--scheduler {scheduler}: no dask scheduler answers there "
                "({error}); start one with `dask scheduler` and name its "
                "address, tcp://host:8786",
                scheduler=scheduler,
                error=error,
            )
        ) from error
    if not client.ncores():
        client.close()
        raise InputError(
            _(
                "--scheduler {scheduler}: it has no workers; start some with "
                "`dask worker {scheduler}`",
                scheduler=scheduler,
            )
        )
    return client
