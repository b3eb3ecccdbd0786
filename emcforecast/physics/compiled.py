"""One typed door to the compiler, so that kernels keep their signatures."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(*, parallel: bool = False, fastmath: bool = False) -> Callable[[F], F]:
    """Compile a numeric function to machine code, cached between runs.

    Parameters
    ----------
    parallel : bool
        Let ``numba.prange`` loops use every core.
    fastmath : bool
        Allow reassociation; never where NaN must survive.

    Returns
    -------
    callable
        A decorator that keeps the function's type.
    """

    def decorate(function: F) -> F:
        jit = numba.njit(cache=True, parallel=parallel, fastmath=fastmath, nogil=True)
        return cast(F, jit(function))

    return decorate
