"""Coast lines of the world, from the packaged topology."""

from __future__ import annotations

import json
from functools import cache

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.tables import path

FINEST = 5.0
"""Degrees a picture must show, at least, for these coasts: they are good to 0.3°."""


@cache
def coast_rings() -> tuple[FloatArray, ...]:
    """Return the rings that bound land, each shape (n, 2): degrees east, north.

    Notes
    -----
    TopoJSON: arcs are whole numbers, each point given by its difference from the one
    before, scaled and moved; a ring is a list of arcs, turned round where negative.
    """
    held = json.loads(path("land_110m.json").read_text(encoding="utf-8"))
    scale, move = (held["transform"][name] for name in ("scale", "translate"))
    arcs = [np.cumsum(np.array(arc), axis=0) * scale + move for arc in held["arcs"]]
    rings: list[FloatArray] = []
    for shape in held["objects"]["land"]["geometries"]:
        for polygon in shape["arcs"]:
            for ring in polygon:
                parts = [arcs[k] if k >= 0 else arcs[~k][::-1] for k in ring]
                rings.append(np.concatenate(parts))
    return tuple(rings)
