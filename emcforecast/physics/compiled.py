"""One typed door to the compiler, so that kernels keep their signatures."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(
    *,
    parallel: bool = False,
    fastmath: bool = False,
    fused: bool = False,
    inline: bool = False,
) -> Callable[[F], F]:
    """Compile a numeric function to machine code, cached between runs.

    Parameters
    ----------
    parallel : bool
        Let ``numba.prange`` loops use every core.
    fastmath : bool
        Allow reassociation; never where NaN must survive.
    fused : bool
        Allow a multiplication and an addition to be rounded once, together: faster,
        never less exact, and NaN survives.
    inline : bool
        Always merge the function into its caller, so that the caller's loop can be
        vectorised.

    Returns
    -------
    callable
        A decorator that keeps the function's type.
    """

    def decorate(function: F) -> F:
        # Division by zero gives inf or NaN, as everywhere in numpy: the check that
        # would raise instead keeps loops from being vectorised.
        jit = numba.njit(
            cache=True,
            parallel=parallel,
            fastmath=fastmath or ({"contract"} if fused else False),
            nogil=True,
            error_model="numpy",
            forceinline=inline,
        )
        return cast(F, jit(function))

    return decorate
