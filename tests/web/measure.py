"""What the server takes: first and kept answers, twenty clients for a minute, memory.

Run it by hand: ``python tests/web/measure.py``. It talks to 127.0.0.1 only.
"""

import json
import statistics
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from browser import Server

CLIENTS = 20
SECONDS = 60.0
MIXED = (
    "/",
    "/floor",
    "/floor?weather=demo",
    "/floor?weather=demo&thickness=30+mm",
    "/dry?weather=demo&stacked=2026-04-01&setting=shed",
    "/plan?weather=demo&stacked=2026-04-01&need=2028-03-01",
    "/yard",
    "/yard/reading",
    "/yard.json",
    "/floor.csv?weather=demo",
    "/style.css",
    "/static/web.js",
)


def get(server: Server, address: str) -> tuple[int, float, int]:
    asked = urllib.request.Request(
        f"{server.address}{address}", headers={"Accept": "text/html"}
    )
    began = time.perf_counter()
    with urllib.request.urlopen(asked, timeout=60) as page:
        size = len(page.read())
    return page.status, time.perf_counter() - began, size


def answer(server: Server, address: str) -> float:
    """Return how long until the answer itself is there, s."""
    began = time.perf_counter()
    while get(server, address)[0] == 202:
        time.sleep(0.02)
    return time.perf_counter() - began


def main() -> None:
    told: dict[str, object] = {}
    with tempfile.TemporaryDirectory() as keep:
        server = Server("demo", Path(keep)).start()
        told["first answer, started cold (s)"] = answer(server, "/floor?weather=demo")
        # Warm: a board nobody asked for yet, and the page that is worked out ahead.
        told["first answer of another board, warm (s)"] = answer(
            server, "/floor?weather=demo&thickness=33+mm"
        )
        for command, query in (
            ("dry", "weather=demo&stacked=2026-04-01"),
            ("plan", "weather=demo&stacked=2026-04-01&need=2028-03-01"),
        ):
            told[f"first answer of {command}, warm (s)"] = answer(
                server, f"/{command}?{query}"
            )
        for address in MIXED:
            answer(server, address)
        kept = [get(server, "/floor?weather=demo")[1] for _ in range(50)]
        told["kept answer, median (ms)"] = 1000 * statistics.median(kept)
        server.stop()
        server.start()
        answer(server, "/")
        told["kept answer, the first after a restart (ms)"] = (
            1000 * get(server, "/floor?weather=demo")[1]
        )
        told |= crowd(server)
        server.stop()
    print(json.dumps(told, indent=2))


def crowd(server: Server) -> dict[str, object]:
    times: list[float] = []
    faults: list[str] = []
    until = time.perf_counter() + SECONDS
    memory = [server.resident_mb()]

    def client(number: int) -> None:
        turn = number
        while time.perf_counter() < until:
            address = MIXED[turn % len(MIXED)]
            turn += 1
            try:
                times.append(get(server, address)[1])
            except OSError as error:
                faults.append(f"{address}: {error}")

    clients = [threading.Thread(target=client, args=(n,)) for n in range(CLIENTS)]
    for one in clients:
        one.start()
    while time.perf_counter() < until:
        time.sleep(5)
        memory.append(server.resident_mb())
    for one in clients:
        one.join()
    times.sort()
    return {
        "requests": len(times),
        "faults": len(faults),
        "first faults": faults[:3],
        "median (ms)": 1000 * statistics.median(times),
        "p95 (ms)": 1000 * times[int(0.95 * len(times))],
        "longest (ms)": 1000 * times[-1],
        "memory (MB)": [round(value) for value in memory],
    }


if __name__ == "__main__":
    main()
