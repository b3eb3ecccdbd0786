"""A server in a process of its own, and a real browser before it."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

CHROMIUM = Path("/usr/bin/chromium")


class Server:
    """`emcforecast serve` on a port of 127.0.0.1."""

    def __init__(self, yard: Path | str, keep: Path, port: int | None = None) -> None:
        self.yard, self.keep, self.port = yard, keep, port or free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen | None = None

    def start(self, seconds: float = 90.0) -> "Server":
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "emcforecast.cli", "serve", str(self.yard)),
                *("--port", str(self.port), "--keep", str(self.keep), "--units", "si"),
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(f"{self.address}/offline", timeout=5):
                    return self
            except OSError:
                if self.process.poll() is not None:
                    raise AssertionError(self.process.stderr.read()) from None
                time.sleep(0.2)
        raise AssertionError("the server did not come up")

    def kill(self) -> None:
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self.process is not None and self.process.poll() is None:
            os.kill(self.process.pid, how)
            self.process.wait(30)
        if self.process is not None:
            self.process.stderr.close()
        self.process = None

    def resident_mb(self) -> float:
        text = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]
