"""Forty years of a station from the cache, beside splitting the same text.

As an ordinary test four years are fetched.
"""

import functools
import gzip
import http.server
import re
import threading
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from emcforecast.weather.archives.record import Place
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.fetch import fetch_place
from emcforecast.weather.network.session import Session


def years_of(benchmark):
    return range(1981 if benchmark.enabled else 2017, 2021)


def hours_of(years):
    span = np.datetime64(f"{years[-1] + 1}-01-01") - np.datetime64(f"{years[0]}-01-01")
    return span // np.timedelta64(1, "h")


@functools.cache
def one_year(year):
    hours = np.arange(f"{year}-01-01T00", f"{year + 1}-01-01T00", dtype="datetime64[h]")
    wave = (100 + 80 * np.sin(np.arange(hours.size) / 24 * 2 * np.pi)).astype(int)
    rows = (
        f"{str(when)[:13].replace('-', ' ').replace('T', ' ')}{t:6d}{t - 40:6d}"
        " 10130   180    20 -9999     0 -9999\n"
        for when, t in zip(hours, wave, strict=True)
    )
    return gzip.compress("".join(rows).encode())


@pytest.fixture
def server():
    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            body = one_year(int(re.search(r"/(\d{4})/", self.path)[1]))
            self.send_response(200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_):
            pass

    played = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=played.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{played.server_port}"
    played.shutdown()
    played.server_close()
    thread.join()


@pytest.mark.parametrize("as_read", [True, False])
def test_forty_years_of_a_station_from_the_cache(benchmark, server, tmp_path, as_read):
    archive = replace(ARCHIVES["isd-lite"], pause=0.0)
    years = years_of(benchmark)

    def fetch():
        for path in () if as_read else tmp_path.glob("read-*.npz"):
            path.unlink()
        with Session(folder=tmp_path, mirror=server) as session:
            return fetch_place(
                archive,
                Place(46.5, 8.5, "XSAMPL1"),
                date(years[0], 1, 1),
                date(years[-1], 12, 31),
                session=session,
            )

    fetch()
    series = benchmark(fetch)
    assert series.sizes["time"] == hours_of(years)


def test_splitting_the_same_text_with_numpy(benchmark):
    """The floor of what such a fetch costs: its own ratio is this one's."""
    years = years_of(benchmark)
    text = b"".join(gzip.decompress(one_year(year)) for year in years)

    def split():
        return np.fromstring(text.decode(), dtype=np.int64, sep=" ").reshape(-1, 12)

    assert benchmark(split).shape == (hours_of(years), 12)
