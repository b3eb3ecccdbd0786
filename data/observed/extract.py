"""Turn NOAA ISD-Lite year files into the compact tables of this folder.

Run by hand: ``python data/observed/extract.py FOLDER``, where FOLDER holds the
ISD-Lite files (``725300-2015.gz`` …) that the wheel of diyepw 1.3.1 carries in
``diyepw/data/noaa_isd_lite_files``. Only the columns this project uses are kept;
hours that the source lacks stay out, missing values become empty cells, a trace of
rain (-1 in the source) becomes 0.
"""

import gzip
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
STATIONS = {
    "chicago_ohare_2015_2017": (
        ("725300-2015", "725300-2016", "725300-2017"),
        "Chicago O'Hare, Illinois; 41.995 N 87.934 W; 205 m; WMO 725300; UTC-6",
    ),
    "mount_shasta_2015_2017": (
        ("725957-2015", "725957-2016", "725957-2017"),
        "Mount Shasta, California; 41.33 N 122.33 W; 1078 m; WMO 725957; UTC-8",
    ),
    "northway_2018_2019": (
        ("702910-2018", "702910-2019"),
        "Northway, Alaska; 62.96 N 141.93 W; 522 m; WMO 702910; UTC-9",
    ),
}


def cell(text: str, scale: float) -> str:
    """One ISD-Lite field as a decimal, empty when it is the missing mark."""
    value = int(text)
    if value == -9999:
        return ""
    return f"{value / scale:g}"


def extract(folder: Path, name: str) -> None:
    """Write one station's file."""
    files, place = STATIONS[name]
    rows = [
        f"# {place}\n",
        "# NOAA Integrated Surface Database Lite, public domain\n",
        "time_utc,temp_c,dew_point_c,wind_ms,precip_mm\n",
    ]
    for file in files:
        with gzip.open(folder / f"{file}.gz", "rt", encoding="ascii") as handle:
            for line in handle:
                year, month, day, hour, t, dew, _, _, wind, _, rain, _ = line.split()
                rain = "0" if rain == "-1" else rain
                rows.append(
                    f"{year}-{month}-{day}T{hour}:00,{cell(t, 10)},{cell(dew, 10)},"
                    f"{cell(wind, 10)},{cell(rain, 10)}\n"
                )
    # mtime=0 and no name: the same input gives the same bytes
    with (
        (HERE / f"{name}.csv.gz").open("wb") as raw,
        gzip.GzipFile(
            filename="", mode="wb", compresslevel=9, fileobj=raw, mtime=0
        ) as packed,
    ):
        packed.write("".join(rows).encode("ascii"))


if __name__ == "__main__":
    for station in STATIONS:
        extract(Path(sys.argv[1]), station)
