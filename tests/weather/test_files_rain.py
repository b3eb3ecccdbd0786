"""Rain of a typical-year file whose header and numbers disagree."""

from pathlib import Path

import pvlib

from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.read import read_weather

DATA = Path(pvlib.__file__).parent / "data"


def test_rain_in_tenths_of_a_millimetre_is_seen() -> None:
    # Greensboro NC has about 1,100 mm of rain a year (from memory); its TMY3 file, read
    # as headed, would hold 7,345 mm with 300 mm in one hour.
    ds = read_weather(DATA / "723170TYA.CSV")
    assert 500 < float(ds["precipitation"].sum()) < 1600
    assert float(ds["precipitation"].max()) < 60
    assert any("hundredths of an inch" in note for note in repair_sentences(ds))
