"""What the weather archives of NOAA have in common."""

from __future__ import annotations

LICENCE = "public domain (US Government work)"
ATTRIBUTION = (
    "NOAA National Centers for Environmental Information (https://www.ncei.noaa.gov/)"
)
#: Integrated Surface Database quality marks of values that are suspect or wrong; all
#: others (0, 1, 4, 5, 9 and the letters A, C, I, M, P, R, U) are kept.
BAD_MARKS = ("2", "3", "6", "7")
