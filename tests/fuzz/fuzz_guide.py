"""Which lines of the package were ever reached: inputs that reach new ones are kept.

`sys.monitoring` (Python 3.12 on) tells of each line once and then costs nothing;
before, `sys.settrace` does, slower.
"""

from __future__ import annotations

import sys
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import emcforecast

PACKAGE = str(Path(emcforecast.__file__).parent)
Line = tuple[str, int]


class Guide:
    """Lines reached so far; `start` and `stop` frame what is watched.

    `seen`: lines known already. `fresh`: those first reached since it was last emptied.
    """

    def __init__(self, seen: set[Line]) -> None:
        self.seen = seen
        self.fresh: set[Line] = set()

    def start(self) -> None:
        """Watch from now on."""
        if sys.version_info >= (3, 12):
            watch = sys.monitoring
            watch.use_tool_id(watch.COVERAGE_ID, "fuzz")
            watch.register_callback(watch.COVERAGE_ID, watch.events.LINE, self._line)
            watch.set_events(watch.COVERAGE_ID, watch.events.LINE)
        else:
            sys.settrace(self._call)

    def stop(self) -> None:
        """Watch no longer."""
        if sys.version_info >= (3, 12):
            sys.monitoring.set_events(sys.monitoring.COVERAGE_ID, 0)
            sys.monitoring.free_tool_id(sys.monitoring.COVERAGE_ID)
        else:
            sys.settrace(None)

    def taken(self) -> set[Line]:
        """Return the lines first reached since the last time."""
        fresh, self.fresh = self.fresh, set()
        return fresh

    def _note(self, code: CodeType, number: int) -> None:
        line = (code.co_filename[len(PACKAGE) :], number)
        if line not in self.seen:
            self.seen.add(line)
            self.fresh.add(line)

    def _line(self, code: CodeType, number: int) -> Any:
        if code.co_filename.startswith(PACKAGE):
            self._note(code, number)
        return sys.monitoring.DISABLE  # type: ignore[attr-defined,unused-ignore]

    def _call(self, frame: FrameType, event: str, _: Any) -> Any:
        return self._within if frame.f_code.co_filename.startswith(PACKAGE) else None

    def _within(self, frame: FrameType, event: str, _: Any) -> Any:
        if event == "line":
            self._note(frame.f_code, frame.f_lineno)
        return self._within
