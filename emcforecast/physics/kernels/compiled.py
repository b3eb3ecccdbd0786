"""One typed door to the compiler, so that kernels keep their signatures."""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from numba.core import config, event

from emcforecast.physics.kernels.cache import folder

F = TypeVar("F", bound=Callable[..., Any])


class _Announcer(event.Listener):
    """Says once that the models are being compiled, so that a wait has a reason."""

    said = False

    def on_start(self, event: Any) -> None:
        """Print on the first kernel of this package that is not found compiled."""
        module = str(event.data["dispatcher"].py_func.__module__)
        if not self.said and module.startswith("emcforecast."):
            type(self).said = True
            print(
                "compiling once for this machine, under half a minute …",
                file=sys.stderr,
            )

    def on_end(self, event: Any) -> None:
        """Do nothing when a kernel is ready."""


cast(Any, event).register("numba:compile", _Announcer())


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
        switches = cast(Any, config)
        kept = switches.CACHE_DIR
        if not kept:
            switches.CACHE_DIR = str(folder(Path(function.__code__.co_filename)) or "")
        jit = numba.njit(
            cache=True,
            parallel=parallel,
            fastmath=fastmath or ({"contract"} if fused else False),
            nogil=True,
            error_model="numpy",
            forceinline=inline,
        )
        made = jit(function)
        switches.CACHE_DIR = kept
        return cast(F, made)

    return decorate


def processors() -> int:
    """Cores this process may use.

    Returns
    -------
    int
        At least 1.
    """
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1
