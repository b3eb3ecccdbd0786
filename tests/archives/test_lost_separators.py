"""A row of an archive's table that lost a separator is left out and counted.

Its values behind the loss would stand under the wrong names, as dew point under
temperature. The samples: data/samples/README.md.
"""

from pathlib import Path

import numpy as np
import pytest

from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.archives.registry import FORMATS
from emcforecast.weather.formats.content import unpack
from emcforecast.weather.hints import Hints

SAMPLES = Path(__file__).parents[2] / "data" / "samples"
HERE = Hints(latitude=46.5, longitude=8.5, elevation=512.0, utc_offset=0.0)
TABLES = {
    "open_meteo.csv": b",",
    "power_hourly.csv": b",",
    "ghcnh_by_station.psv": b"|",
    "ghcnh_by_year.psv": b"|",
    "global_hourly.csv": b'","',
    "lcd_first.csv": b",",
    "lcd_second.csv": b",",
    "iem_comma.csv": b",",
    "iem_tabs.tsv": b"\t",
    "meteostat.csv.gz": b",",
    "meteostat_old.csv.gz": b",",
    "eccc_english.csv": b'","',
    "eccc_french.csv": b'","',
    "hourly_normals.csv.gz": b",",
}
ROW = 15
"""From the end of the file, where no header is."""


def read(payload: bytes):
    (form,) = [fmt for fmt in FORMATS if fmt.sniff(payload[:65536], "download")]
    return form.read(payload, HERE)


@pytest.mark.parametrize("place", [3, -1])
@pytest.mark.parametrize("name", TABLES)
def test_a_row_without_one_separator_is_left_out_and_counted(
    name: str, place: int
) -> None:
    sign = TABLES[name]
    whole = unpack((SAMPLES / name).read_bytes())
    lines = whole.split(b"\n")
    cells = lines[-ROW].split(sign)
    at = place % (len(cells) - 1)
    lines[-ROW] = sign.join([*cells[:at], cells[at] + cells[at + 1], *cells[at + 2 :]])
    series = read(b"\n".join(lines))
    assert "1 broken line left out" in repair_sentences(series)
    good = read(whole)
    for quantity in ("air_temperature", "relative_humidity"):
        was = good[quantity].reindex(time=series["time"]).to_numpy()
        now = series[quantity].to_numpy()
        both = np.isfinite(now)
        # A report of the hour beside it stays: LCD and IEM hold several an hour.
        assert np.count_nonzero(~both) <= np.count_nonzero(~np.isfinite(was)) + 1
        np.testing.assert_allclose(now[both], was[both], atol=1e-9)
