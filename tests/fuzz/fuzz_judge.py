"""How an answer to a damaged input is judged: read, refused in one line, or a fault."""

from __future__ import annotations

import json
import random
import re
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import xarray as xr
from fuzz_mutations import damaged

from emcforecast import equilibrium_moisture_content
from emcforecast.errors import InputError
from emcforecast.weather.hints import Hints
from emcforecast.weather.read import read_bytes
from emcforecast.weather.repairs import repairs_of

SLOW_S = 10.0
"""Of the processor, so that a busy machine is no fault of a reader."""
LONGEST = 700
HERE = Hints(latitude=46.5, longitude=8.5, utc_offset=1.0)
MOVED = 0.2
"""Change of the mean equilibrium moisture, % MC, that may not go unsaid."""
Moisture = tuple[np.ndarray, np.ndarray, frozenset[str]]
"""Times, equilibrium moisture (%), and the kinds of what is said of a series."""


class BadAnswerError(AssertionError):
    """An answer that is neither read nor refused in one line, or comes too late."""


@dataclass
class Target:
    """A reader to be fuzzed.

    `seeds`: good inputs by name; `how`: the way their content is damaged; `ask`: reads
    bytes and returns what came of it in a few words, refusals as `InputError`; a
    weather series is judged here, `ask` None. `share`: of a campaign's inputs.
    `learned`: inputs of this campaign that went where none went before.
    """

    name: str
    seeds: dict[str, bytes]
    how: str
    ask: Callable[[bytes], str] | None = None
    share: float = 1.0
    learned: list[bytes] = field(default_factory=list)
    _whole: dict[str, Moisture] = field(default_factory=dict)

    def chosen(self, rng: random.Random) -> tuple[bytes, str]:
        """Return an input, and the good seed it was made of or ""."""
        if self.learned and rng.random() < 0.4:
            return damaged(rng, rng.choice(self.learned), self.how), ""
        name = rng.choice(sorted(self.seeds))
        return damaged(rng, self.seeds[name], self.how), name

    def damaged(self, rng: random.Random) -> bytes:
        """Return a damaged seed."""
        return self.chosen(rng)[0]

    def judge(self, data: bytes, seed: str = "") -> str:
        """Return what came of an input; raise `BadAnswerError` for what may not be.

        `seed`: the good one that it was made of, to tell "silent" from "read".
        """
        start = time.process_time()
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                if self.ask is not None:
                    outcome = self.ask(data)
                else:
                    outcome = self._weather(data, seed)
            except InputError as error:
                outcome = refused(self.name, error)
        if time.process_time() - start > SLOW_S:
            raise BadAnswerError(f"{self.name}: took over {SLOW_S:g} s")
        return outcome

    def _weather(self, data: bytes, seed: str) -> str:
        series = read_bytes(data, "fuzz", HERE)
        check_series(series)
        said = {item.kind.name for item in repairs_of(series)}
        if seed and seed not in self._whole:
            try:
                good = read_bytes(self.seeds[seed], "fuzz", HERE)
                self._whole[seed] = moisture(good)
            except InputError:  # a kept input that once failed
                self._whole[seed] = (np.array([], "M8[s]"), np.array([]), frozenset())
        usual = self._whole.get(seed)
        if usual is None or not usual[0].size:
            return "repaired" if said else "read"
        if said - usual[2]:
            return "repaired"
        return "silent" if moved(usual, moisture(series)) > MOVED else "read"


def refused(name: str, error: InputError) -> str:
    """Return the sort of a refusal; raise `BadAnswerError` unless it is one line."""
    said = str(error)
    if "\n" in said or len(said) > LONGEST or not said.strip():
        raise BadAnswerError(f"{name}: not one line: {said!r}") from error
    return "refused: " + re.sub(r"\d+|'[^']*'|\([^)]*\)", "#", said)[:60]


def check_series(series: xr.Dataset) -> None:
    """Raise `BadAnswerError` for values that no weather has."""
    humid = series["relative_humidity"].to_numpy()
    known = humid[np.isfinite(humid)]
    if known.size and not (known.min() >= 0.0 and known.max() <= 100.0):
        raise BadAnswerError(f"humidity of {known.min()} to {known.max()} % let in")
    warm = series["air_temperature"].to_numpy()
    if np.isinf(warm).any() or np.abs(warm[np.isfinite(warm)]).max(initial=0.0) > 90.0:
        raise BadAnswerError("an impossible temperature let in")


def moisture(series: xr.Dataset) -> Moisture:
    """Return what wood would come to by the hour, and the kinds of what is said."""
    content = equilibrium_moisture_content(
        series["air_temperature"].to_numpy(), series["relative_humidity"].to_numpy()
    )
    said = frozenset(item.kind.name for item in repairs_of(series))
    return series["time"].to_numpy(), content, said


def moved(usual: Moisture, found: Moisture) -> float:
    """Return by how much the mean moves over the times that both have, % MC.

    Infinite where they have none in common.
    """
    _, a, b = np.intersect1d(usual[0], found[0], return_indices=True)
    was, now = usual[1][a], found[1][b]
    both = np.isfinite(was) & np.isfinite(now)
    if not both.any():
        return np.inf
    return abs(float(now[both].mean() - was[both].mean()))


def strict_json(text: str) -> None:
    """Raise `BadAnswerError` for what is no JSON, and for NaN and Infinity in it."""

    def refuse(constant: str) -> None:
        raise BadAnswerError(f"{constant} in JSON: {text[-300:]!r}")

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as error:
        raise BadAnswerError(f"no JSON ({error}): {text[-300:]!r}") from error
