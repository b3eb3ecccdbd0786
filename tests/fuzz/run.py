"""Fuzz every reader: ``python tests/fuzz/run.py N [--seed S] [--target NAME]``.

N inputs in all, shared evenly among the readers, two processes. An input whose answer
is of a sort not met before is a seed of its reader from then on, so that later inputs
go further. What fails is written to tests/fuzz/failed/ and listed, exit code 1. A
nightly run is of 1,000,000 inputs, with the date as its seed: about six hours.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import resource
import signal
import sys
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

LIMIT_S = 20
MEMORY = 6 << 30
BATCH = 250


def _late(*_: object) -> None:
    raise TimeoutError(f"no answer within {LIMIT_S} s")


def fuzz(name: str, seed: int, count: int, learned: list[bytes]) -> dict[str, object]:
    """Ask a reader `count` damaged inputs; return counts, failures, new seeds."""
    from fuzz_targets import targets

    target = next(one for one in targets() if one.name == name)
    for number, data in enumerate(learned):
        target.seeds[f"learned {number}"] = data
    rng = random.Random(seed)
    signal.signal(signal.SIGALRM, _late)
    outcomes: Counter[str] = Counter()
    first: dict[str, bytes] = {}
    failures: list[tuple[str, bytes]] = []
    for _ in range(count):
        data = target.damaged(rng)
        signal.alarm(LIMIT_S)
        try:
            outcome = target.judge(data)
        except Exception:  # noqa: BLE001: whatever gets through is what is sought
            outcome = "failed"
            failures.append((traceback.format_exc(), data))
        finally:
            signal.alarm(0)
        outcomes[outcome] += 1
        first.setdefault(outcome, data)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    small = {k: v for k, v in first.items() if len(v) < 200_000}
    return {"name": name, "outcomes": outcomes, "failures": failures[:20],
            "first": small, "peak_mb": peak}  # fmt: skip


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("inputs", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--target", default=None)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    from fuzz_targets import targets

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    names = [one.name for one in targets() if options.target in (None, one.name)]
    met: dict[str, dict[str, bytes]] = {name: {} for name in names}
    totals: dict[str, Counter[str]] = {name: Counter() for name in names}
    failed: dict[str, tuple[str, str]] = {}
    peak = 0.0
    each = max(1, options.inputs // len(names))
    with ProcessPoolExecutor(options.processes) as pool:
        done = 0
        while done < each:
            count = min(BATCH, each - done)
            jobs = [
                pool.submit(
                    *(fuzz, name, hash((options.seed, done, at)), count),
                    list(met[name].values())[-40:],
                )
                for at, name in enumerate(names)
            ]
            for job in jobs:
                result = job.result()
                name = result["name"]
                totals[name] += result["outcomes"]
                peak = max(peak, result["peak_mb"])
                for outcome, data in result["first"].items():
                    met[name].setdefault(outcome, data)
                for trace, data in result["failures"]:
                    last = trace.strip().splitlines()
                    where = [line for line in last if "emcforecast/" in line][-1:]
                    key = f"{name}: {last[-1][:160]} {' '.join(where).strip()}"
                    if key not in failed:
                        mark = hashlib.sha256(data).hexdigest()[:12]
                        folder = HERE / "failed" / name.replace(" ", "_")
                        folder.mkdir(parents=True, exist_ok=True)
                        (folder / mark).write_bytes(data)
                        (folder / f"{mark}.trace").write_text(trace)
                        failed[key] = (name, mark)
            done += count
            print(f"{done * len(names)} inputs, {len(failed)} failures", flush=True)
    report = {}
    for name in names:
        seen = totals[name]
        refused = sum(n for what, n in seen.items() if what.startswith("refused"))
        report[name] = {
            "tried": seen.total(),
            "refused": refused,
            "repaired": seen["repaired"],
            "crashed": seen["failed"],
            "read": seen.total() - refused - seen["repaired"] - seen["failed"],
            "sorts": len(seen),
        }
    print(json.dumps({"peak_mb": round(peak), "targets": report}, indent=1))
    for key in failed:
        print(key)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
