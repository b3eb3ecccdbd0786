"""Fuzz every reader: ``python tests/fuzz/run.py N [--seed S] [--target NAME …]``.

N inputs in all, by the targets' shares. An input that reaches a line of the package
where none was before, or whose answer is of a new sort, is damaged further from then
on. Each batch of a target runs in a process of its own: one that hangs or dies is
ended, and its last input is a fault. Batches of a seed are the same every time. What
fails is written to tests/fuzz/failed/, exit code 1. ``--record FILE`` adds the counts
to a record such as docs/fuzz.json, ``--keep`` what was learned to tests/fuzz/corpus/.
"""

from __future__ import annotations

import argparse
import datetime
import gc
import hashlib
import io
import json
import logging
import mmap
import multiprocessing
import os
import platform
import random
import resource
import signal
import sys
import time
import traceback
import zipfile
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from fuzz_guide import Guide, Line  # noqa: E402
from fuzz_judge import BadAnswerError, Target  # noqa: E402
from fuzz_targets import kept_in, targets  # noqa: E402

LIMIT_S = 59
STUCK_S = 120
MOST_BYTES = 1 << 30
BATCH = 4000
FEW = 300
"""Inputs of a batch whose library may die, and take the others' outcomes along."""
BATCH_S = 120.0
LEARNED = 300
LARGEST = 60_000
KEPT_BYTES = 18_000
"""Packed bytes of kept inputs for each target."""


class LateError(BaseException):
    """No answer in time; no reader may take it for damage of its file."""


def _late(*_: object) -> None:
    raise LateError(f"no answer within {LIMIT_S} s")


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss << 10


def _held() -> int:
    with Path("/proc/self/statm").open() as file:
        return int(file.read().split()[1]) * resource.getpagesize()


@dataclass
class Found:
    """What came of a target's inputs."""

    outcomes: Counter[str] = field(default_factory=Counter)
    failures: list[tuple[str, bytes]] = field(default_factory=list)
    silent: list[tuple[bytes, str]] = field(default_factory=list)
    learned: list[tuple[bytes, set[Line]]] = field(default_factory=list)
    sorts: set[str] = field(default_factory=set)
    peak: int = 0
    slowest: float = 0.0
    seconds: float = 0.0
    grown: list[int] = field(default_factory=list)

    def add(self, other: Found) -> None:
        """Add what came of another batch."""
        self.outcomes += other.outcomes
        self.failures += other.failures
        self.silent = (self.silent + other.silent)[:20]
        self.learned += other.learned
        self.sorts |= other.sorts
        self.peak = max(self.peak, other.peak)
        self.slowest = max(self.slowest, other.slowest)
        self.seconds += other.seconds
        self.grown += other.grown


def batch(
    target: Target, seed: str, count: int, seen: set[Line], shared: mmap.mmap | None
) -> Found:
    """Ask a target `count` damaged inputs; stop early where they take long.

    `shared`: where the input under way is noted for who watches.
    """
    rng = random.Random(seed)
    found, guide = Found(), Guide(set(seen))
    signal.signal(signal.SIGALRM, _late)
    with suppress(BadAnswerError):  # what is loaded once is no input's
        target.judge(next(iter(target.seeds.values())))
    guide.start()
    begun = time.monotonic()
    start, low = _held(), _peak()
    try:
        for number in range(count):
            data, made_of = target.chosen(rng)
            if shared is not None:
                _note(shared, number + 1, data)
            before = time.process_time()
            signal.alarm(LIMIT_S)
            try:
                outcome = target.judge(data, made_of)
            except (Exception, LateError):
                outcome = "failed"
                found.failures.append((traceback.format_exc(), data))
            finally:
                signal.alarm(0)
            found.slowest = max(found.slowest, time.process_time() - before)
            if _peak() > low + MOST_BYTES and not found.peak:
                outcome = "failed"
                grown = (_peak() - low) >> 20
                found.failures.append((f"memory grew by {grown} MB", data))
                low = _peak()
            found.outcomes[outcome.partition(":")[0].partition(" ")[0]] += 1
            if outcome == "silent" and len(found.silent) < 5:
                found.silent.append((data, made_of))
            fresh = guide.taken()
            if (fresh or outcome not in found.sorts) and len(data) <= LARGEST:
                target.learned = [*target.learned[-LEARNED:], data]
                found.learned.append((data, fresh))
            found.sorts.add(outcome)
            if len(found.failures) > 20 or time.monotonic() - begun > BATCH_S:
                break
    finally:
        guide.stop()
    gc.collect()
    found.grown = [(_held() - start) >> 20]
    found.peak = (_peak() - start) >> 20
    found.seconds = time.monotonic() - begun
    return found


def _note(shared: mmap.mmap, number: int, data: bytes) -> None:
    short = data[: len(shared) - 16]
    shared[16 : 16 + len(short)] = short
    shared[8:16] = len(short).to_bytes(8, "little")
    shared[:8] = number.to_bytes(8, "little")


def _child(pipe: Any, *what: Any) -> None:
    logging.disable(logging.CRITICAL)
    with Path(os.devnull).open("w") as nowhere:  # libraries that print of damage
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
        pipe.send(batch(*what))
    os._exit(0)


def watched(target: Target, seed: str, count: int, seen: set[Line]) -> Found:
    """Run a batch in a process of its own; a hang or a death is a failure."""
    shared = mmap.mmap(-1, 16 + (4 << 20))
    mine, its = multiprocessing.Pipe(duplex=False)
    context = multiprocessing.get_context("fork")
    process = context.Process(target=_child, args=(its, target, seed, count, seen,
                                                   shared))  # fmt: skip
    process.start()
    its.close()
    last, since = b"", time.monotonic()
    found = None
    while found is None:
        if mine.poll(0.5):
            try:
                found = mine.recv()
            except EOFError:
                process.join()
                found = _lost(shared, f"the process died ({process.exitcode})")
        elif shared[:8] != last:
            last, since = shared[:8], time.monotonic()
        elif time.monotonic() - since > STUCK_S:
            process.kill()
            found = _lost(shared, f"no answer within {STUCK_S} s, not even to a signal")
    process.join()
    return found


def _lost(shared: mmap.mmap, why: str) -> Found:
    number, size = (int.from_bytes(shared[k : k + 8], "little") for k in (0, 8))
    found = Found(outcomes=Counter(failed=1, lost=max(number - 1, 0)))
    found.failures.append((why, bytes(shared[16 : 16 + size])))
    return found


def cause(trace: str) -> str:
    """Return the last line of a trace and where in the package it comes from."""
    lines = trace.strip().splitlines()
    where = [line.strip() for line in lines if "/emcforecast/" in line][-1:]
    place = where[0].rpartition("emcforecast/")[2] if where else ""
    return f"{lines[-1][:140]} {place}".strip()


def write_failures(name: str, failures: list[tuple[str, bytes]]) -> Counter[str]:
    """Write one input of each cause to a folder; return how often each came."""
    counted: Counter[str] = Counter()
    folder = HERE / "failed" / name.replace(" ", "_")
    for trace, data in failures:
        key = cause(trace)
        counted[key] += 1
        if counted[key] == 1:
            folder.mkdir(parents=True, exist_ok=True)
            mark = hashlib.sha256(data).hexdigest()[:12]
            (folder / mark).write_bytes(data)
            (folder / f"{mark}.trace").write_text(trace)
    return counted


def keep(target: Target, learned: list[tuple[bytes, set[Line]]]) -> int:
    """Write the inputs that reach most, small ones first; return how many."""
    held = dict.fromkeys(kept_seeds(target).values(), 0)
    ranked = sorted(learned, key=lambda one: -len(one[1]) / (len(one[0]) + 200))
    chosen = [*held, *(data for data, fresh in ranked if fresh and data not in held)]
    content = io.BytesIO()
    count = 0
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as held_:
        for data in chosen:
            if content.tell() > KEPT_BYTES:
                break
            if len(data) > LARGEST // 2:
                continue
            name = hashlib.sha256(data).hexdigest()[:16]
            held_.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
            count += 1
    if count:
        kept_in(target.name).parent.mkdir(exist_ok=True)
        kept_in(target.name).write_bytes(content.getvalue())
    return count


def kept_seeds(target: Target) -> dict[str, bytes]:
    """Return the inputs kept of earlier campaigns."""
    from fuzz_targets import kept

    return kept(target.name)


def counts(found: Found) -> dict[str, Any]:
    """Return a target's line of the record."""
    seen = found.outcomes
    tried = seen.total()
    return {
        "tried": tried,
        "refused": seen["refused"],
        "repaired": seen["repaired"],
        "read": seen["read"],
        "silent": seen["silent"],
        "crashed": seen["failed"],
        "sorts": len(found.sorts),
        "lines": len({line for _, fresh in found.learned for line in fresh}),
        "seconds": round(found.seconds),
        "slowest_s": round(found.slowest, 1),
        "peak_mb": found.peak,
        "grown_mb": max(found.grown, default=0),
    }


def write_record(path: Path, seed: int, results: dict[str, Found]) -> None:
    """Add the counts of a campaign to a record, target by target."""
    record = json.loads(path.read_text()) if path.exists() else {}
    record.setdefault("targets", {})
    for name, found in results.items():
        record["targets"][name] = counts(found)
    record["seed"] = seed
    record["date"] = datetime.datetime.now(datetime.UTC).date().isoformat()
    record["python"] = platform.python_version()
    path.write_text(json.dumps(record, indent=1) + "\n")


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("inputs", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--target", action="append", default=None)
    parser.add_argument("--minutes", type=float, default=1e9)
    parser.add_argument("--record", type=Path, default=None)
    parser.add_argument("--keep", action="store_true")
    options = parser.parse_args()
    chosen = [t for t in targets() if not options.target or t.name in options.target]
    all_shares = sum(one.share for one in chosen)
    ask = {t.name: max(1, round(options.inputs * t.share / all_shares)) for t in chosen}
    results = {t.name: Found() for t in chosen}
    seen: dict[str, set[Line]] = {t.name: set() for t in chosen}
    failed: dict[str, Counter[str]] = {t.name: Counter() for t in chosen}
    end = time.monotonic() + 60 * options.minutes
    turn = 0
    while time.monotonic() < end:
        left = [t for t in chosen if results[t.name].outcomes.total() < ask[t.name]]
        if not left:
            break
        for target in left:
            found = results[target.name]
            most = FEW if target.how == "store" else BATCH
            count = min(most, ask[target.name] - found.outcomes.total())
            seed = f"{options.seed} {target.name} {turn}"
            more = watched(target, seed, count, seen[target.name])
            found.add(more)
            for data, fresh in more.learned:
                seen[target.name] |= fresh
                target.learned = [*target.learned[-LEARNED:], data]
            failed[target.name] += write_failures(target.name, more.failures)
            if options.record:
                write_record(options.record, options.seed, results)
            if time.monotonic() > end:
                break
        turn += 1
        total = sum(f.outcomes.total() for f in results.values())
        faults = sum(c.total() for c in failed.values())
        print(f"{total} inputs, {faults} failures", flush=True)
    print(json.dumps({n: counts(f) for n, f in results.items()}, indent=1))
    for target in chosen:
        for index, (data, made_of) in enumerate(results[target.name].silent):
            folder = HERE / "failed" / "silent"
            folder.mkdir(parents=True, exist_ok=True)
            name = f"{target.name.replace(' ', '_')}-{made_of}-{index}"
            (folder / name).write_bytes(data)
        for key, count in failed[target.name].items():
            print(f"{target.name}: {count} × {key}")
        if options.keep:
            print(target.name, keep(target, results[target.name].learned), "kept")
    return 1 if any(failed.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
