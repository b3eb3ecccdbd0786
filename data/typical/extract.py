"""Turn EnergyPlus weather files into the compact typical years of this folder.

Run by hand: ``python data/typical/extract.py FOLDER``, where FOLDER holds the ``.epw``
files that the wheel of sinergym 3.12.2 carries in ``sinergym/data/weather``. Kept are
temperature, dew point, humidity, wind and sun; rain only where the source measured it
in nearly every hour. Times are moved to UTC, start of the hour, in the nominal
year 2001; the hours that the move pushes over the year's end are put at its start.
"""

import gzip
import sys
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).resolve().parent
PLACES = {
    "tucson": "USA_AZ_Davis-Monthan.AFB.722745_TMY3",
    "aurora": "USA_CO_Aurora-Buckley.Field.ANGB.724695_TMY3",
    "chicago": "USA_IL_Chicago-OHare.Intl.AP.725300_TMY3",
    "new_york": "USA_NY_New.York-J.F.Kennedy.Intl.AP.744860_TMY3",
    "pittsburgh": "USA_PA_Pittsburgh-Allegheny.County.AP.725205_TMY3",
    "port_angeles": "USA_WA_Port.Angeles-William.R.Fairchild.Intl.AP.727885_TMY3",
}
# column numbers of the EPW format
TEMPERATURE, DEW_POINT, HUMIDITY, SUN, WIND, RAIN = 6, 7, 8, 13, 21, 33
NO_RAIN_VALUE = 900.0


def extract(folder: Path, name: str) -> None:
    """Write one place's file."""
    lines = (folder / f"{PLACES[name]}.epw").read_text("latin-1").splitlines()
    _, city, state, _, kind, wmo, lat, lon, offset, height = lines[0].split(",")
    records = [line.split(",") for line in lines[8:]]
    missing = sum(float(r[RAIN]) > NO_RAIN_VALUE for r in records)
    columns = ["temp_c", "dew_point_c", "rh_pct", "wind_ms", "ghi_wm2"]
    numbers = [TEMPERATURE, DEW_POINT, HUMIDITY, WIND, SUN]
    if missing < 0.01 * len(records):
        columns.append("precip_mm")
        numbers.append(RAIN)
    rows = {}
    for r in records:
        local = datetime(2001, int(r[1]), int(r[2])) + timedelta(hours=int(r[3]) - 1)
        utc = (local - timedelta(hours=float(offset))).replace(year=2001)
        cells = [f"{float(r[i]):g}" if i != RAIN else "" for i in numbers]
        if RAIN in numbers and float(r[RAIN]) < NO_RAIN_VALUE:
            cells[-1] = f"{float(r[RAIN]):g}"
        rows[utc] = f"{utc:%Y-%m-%dT%H:%M},{','.join(cells)}\n"
    text = [
        f"# {city}, {state}; {lat} N {lon} E; {height} m; WMO {wmo}; UTC{offset}\n",
        f"# {kind} typical year, NREL (2008), public domain\n",
        f"time_utc,{','.join(columns)}\n",
        *[rows[utc] for utc in sorted(rows)],
    ]
    # mtime=0 and no name: the same input gives the same bytes
    with (
        (HERE / f"{name}.csv.gz").open("wb") as raw,
        gzip.GzipFile(
            filename="", mode="wb", compresslevel=9, fileobj=raw, mtime=0
        ) as packed,
    ):
        packed.write("".join(text).encode("ascii"))


if __name__ == "__main__":
    for place in PLACES:
        extract(Path(sys.argv[1]), place)
