"""One short question to every real archive; off unless asked for with -m network."""

import os
from datetime import date

import pytest

from emcforecast.weather.archives.record import Place
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.fetch import fetch_place
from emcforecast.weather.network.places import find_places
from emcforecast.weather.network.session import Session
from emcforecast.weather.series import check_contract

#: A station of each archive that has been there for long.
STATIONS = {
    "ghcnh": "USW00013967",
    "global-hourly": "72353013967",
    "isd-lite": "723530-13967",
    "lcd": "72353013967",
    "hourly-normals": "USW00013967",
    "iem-asos": "OKC",
    "meteostat": "72353",
    "dwd": "00433",
    "eccc": "48370",
}


@pytest.mark.network
@pytest.mark.parametrize("name", ARCHIVES)
def test_real_archive(name, tmp_path):
    archive = ARCHIVES[name]
    if archive.key and not os.environ.get(archive.key):
        pytest.skip(f"needs {archive.key}")
    place = Place(52.5, 13.4, station=STATIONS.get(name, ""))
    with Session(folder=tmp_path) as session:
        series = fetch_place(
            archive, place, date(2024, 7, 1), date(2024, 7, 10), session=session
        )
    check_contract(series)
    assert float(series["air_temperature"].mean()) > -30


@pytest.mark.network
def test_real_place_search(tmp_path):
    with Session(folder=tmp_path) as session:
        assert find_places("Paris", session)
