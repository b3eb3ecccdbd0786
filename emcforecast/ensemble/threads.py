"""Several pieces of kernel work at once, where one alone leaves cores idle."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from emcforecast.physics.kernels.compiled import processors

Item = TypeVar("Item")
Result = TypeVar("Result")


def in_threads(work: Callable[[Item], Result], items: Iterable[Item]) -> list[Result]:
    """Do a piece of work for every item, in threads; the results in order.

    Parameters
    ----------
    work : callable
        Runs boards for one item; the kernel lets other threads go on meanwhile.
    items : iterable
        What to do it for.

    Returns
    -------
    list

    Examples
    --------
    >>> in_threads(abs, [-1, 2])
    [1, 2]
    """
    wanted = list(items)
    workers = min(processors(), len(wanted))
    if workers < 2:
        return [work(item) for item in wanted]
    with ThreadPoolExecutor(workers) as pool:
        return list(pool.map(work, wanted))
