"""The compiler: kernels keep their types, and are kept compiled between runs.

The compiler's own cache looks only at the file of a kernel, not at the files of the
functions merged into it. Here every module's kernels are in a folder named after the
state of all the modules it imports.
"""

import hashlib
import os
import pickle
import re
import shutil
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from llvmlite import ir
from numba.core import cgutils, config, event, runtime, types
from numba.core.caching import FunctionCache
from numba.extending import intrinsic

F = TypeVar("F", bound=Callable[..., Any])

_PACKAGE = Path(__file__).parents[2]
_IMPORT = re.compile(r"^from emcforecast\.([\w.]+) import", re.MULTILINE)


@cache
def sources(file: Path) -> frozenset[Path]:
    """Return a module's file with those of all modules it imports, and so on.

    Parameters
    ----------
    file : Path
        A module of this package.
    """
    found: set[Path] = set()
    ahead = [file]
    while ahead:
        module = ahead.pop()
        if module in found or not module.is_file():
            continue
        found.add(module)
        names = _IMPORT.findall(module.read_text(encoding="utf-8"))
        ahead += [
            _PACKAGE.joinpath(*name.split(".")).with_suffix(".py") for name in names
        ]
    return frozenset(found)


@cache
def folder(file: Path) -> Path | None:
    """Return the folder for a module's compiled kernels, made if need be.

    Parameters
    ----------
    file : Path
        The module that defines them.

    Returns
    -------
    Path or None
        None where the package's own folder cannot be written: the compiler then
        keeps them in the user's cache.
    """
    stamp = hashlib.sha1(usedforsecurity=False)
    for source in sorted(sources(file)):
        state = source.stat()
        stamp.update(f"{source.name} {state.st_mtime_ns} {state.st_size}\n".encode())
    beside = file.parent / "__pycache__"
    wanted = beside / f"kernels-{file.stem}-{stamp.hexdigest()[:12]}"
    if not wanted.is_dir():
        for old in beside.glob(f"kernels-{file.stem}-*"):
            shutil.rmtree(old, ignore_errors=True)
        try:
            wanted.mkdir(parents=True, exist_ok=True)
        except OSError:
            return None
    return wanted


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


_DAMAGED = (
    *(EOFError, OSError, pickle.UnpicklingError, ValueError, TypeError, LookupError),
    *(AttributeError, ImportError, ArithmeticError, MemoryError, RuntimeError),
)
"""What a kept kernel raises that a full disk cut short or something else damaged."""


class _Kept(FunctionCache):
    """A kernel's cache that throws damaged files away and compiles anew.

    The compiler's own first learns all that it can compile, half a second even where
    nothing is compiled; a kept kernel needs its runtime alone. Where one must be
    compiled after all, the compiler learns it then.
    """

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the kept kernel, or None when it must be compiled."""
        try:
            cast(Any, runtime).rtsys.initialize(target_context)
            return cast(Any, self)._load_overload(sig, target_context)
        except _DAMAGED:
            with suppress(OSError):
                cast(Any, self).flush()
            return None


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
        with suppress(RuntimeError):  # Nowhere to keep kernels: compiled every time.
            cast(Any, made)._cache = cast(Any, _Kept)(function)
        switches.CACHE_DIR = kept
        return cast(F, made)

    return decorate


def _prefetch(_typing: Any, array: Any, index: Any) -> Any:
    """Ask for the cache line of an array's element, without waiting for it.

    Parameters
    ----------
    array : ndarray
        One-dimensional and contiguous.
    index : int
        Where it lies outside the array nothing comes of it.
    """

    def made(context: Any, builder: Any, _signature: Any, given: Any) -> Any:
        data = context.make_array(array)(context, builder, given[0]).data
        line = builder.gep(data, [given[1]])
        line = builder.bitcast(line, ir.IntType(8).as_pointer())
        flag = ir.IntType(32)
        kind = ir.FunctionType(ir.VoidType(), [line.type, flag, flag, flag])
        name = "llvm.prefetch.p0"
        ask = cast(Any, cgutils).get_or_insert_function(builder.module, kind, name)
        # To be read, kept in the nearest cache, data.
        builder.call(ask, [line, flag(0), flag(3), flag(1)])
        return context.get_dummy_value()

    return types.void(array, types.intp), made


prefetch: Callable[[Any, Any], None] = cast(Any, intrinsic(_prefetch))


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
