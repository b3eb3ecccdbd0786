"""A day of use in minutes: memory, files and threads do not grow."""

import gc
import random
import threading
from contextlib import suppress
from pathlib import Path

import pytest
from fuzz_judge import BadAnswerError
from fuzz_targets import targets

ROUNDS = 40
PAGES_A_DAY = ("floor", "dry", "plan", "yard/reading", "yard/add", "yard/move")


def held() -> int:
    """Bytes of memory in use (Linux: pages of the second field of statm)."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096


def files() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="asks Linux")
@pytest.mark.parametrize("name", [t.name for t in targets()])
def test_nothing_grows_over_a_day_of_use(name: str) -> None:
    """Good and damaged inputs by turns; what is kept once is kept after a quarter."""
    target = next(t for t in targets() if t.name == name)
    rng = random.Random(1)
    marks = []
    for turn in range(ROUNDS):
        for seed, data in sorted(target.seeds.items())[:12]:
            if len(data) > 200_000 and turn % 8:
                continue
            for given in (data, target.damaged(rng)):
                with suppress(BadAnswerError):
                    target.judge(given, seed)
        if turn in (ROUNDS // 4, ROUNDS // 2, ROUNDS - 1):
            gc.collect()
            marks.append((held(), files(), threading.active_count()))
    memory, open_files, threads = zip(*marks, strict=True)
    assert memory[2] - memory[1] < 40e6
    assert open_files[2] <= open_files[0] + 2
    assert threads[2] <= threads[0] + 1
