"""What a yard is: its weather, its settings and its stacks, as values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from emcforecast.errors import YardError
from emcforecast.language import _, did_you_mean
from emcforecast.storage.settings import Setting
from emcforecast.thickness import Thickness
from emcforecast.units import UnitSystem
from emcforecast.wood.board import Board
from emcforecast.wood.meter import CALIBRATED_AT
from emcforecast.wood.species import Species


@dataclass(frozen=True)
class WeatherSource:
    """Where the yard's weather comes from.

    Parameters
    ----------
    file : str or None
        A weather file, relative to the yard file, or "demo".
    archive : str or None
        An open archive instead of a file.
    place : tuple of float or None
        Latitude and longitude for the archive, degrees.
    hints : mapping
        What helps read the file: latitude, elevation, utc_offset and so on.
    """

    file: str | None = "demo"
    archive: str | None = None
    place: tuple[float, float] | None = None
    hints: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Meter:
    """How the yard's meter is made.

    Parameters
    ----------
    calibrated_at : float
        Wood temperature it is right at, °C.
    compensated : bool
        It corrects for temperature itself.
    insulated : bool
        Only the tips of its pins touch the wood.
    """

    calibrated_at: float = CALIBRATED_AT
    compensated: bool = False
    insulated: bool = False


@dataclass(frozen=True)
class Move:
    """A stack carried to another setting on a day."""

    setting: str
    date: date


@dataclass(frozen=True)
class Boards:
    """What a stack holds, for its weight: count, length (mm) and width (mm)."""

    count: int
    length_mm: float
    width_mm: float


@dataclass(frozen=True)
class Sample:
    """A sample board that is weighed.

    Parameters
    ----------
    board : str
        The mark on the board.
    dry_kg : float
        Its oven-dry weight, kg: weighed, or 100 W / (MC + 100) from the weight W
        and the moisture content MC of its end sections.
    """

    board: str
    dry_kg: float


@dataclass(frozen=True)
class Stack:
    """One stack of boards.

    Parameters
    ----------
    name : str
    species : Species
    wood : str
        The species as the yard file writes it.
    thickness : Thickness
    stacked : date
        The day its boards were put on stickers.
    sawn : date or None
        The day they were sawn, when that is known apart.
    setting : str
        Where it was stacked.
    use : str or None
        What it is for.
    target : float or None
        A moisture wanted, % of oven-dry mass, in place of the use's own.
    need : date or None
        The day it is needed.
    from_mc : float or None
        Its moisture when stacked, %; None for green.
    moves : tuple of Move
        In order of date.
    boards : Boards or None
    width_mm, length_mm : float or None
        Of a board; None for a typical one.
    sealed_ends : bool
        Whether the end grain is coated.
    samples : tuple of Sample
    note : str
    """

    name: str
    species: Species
    wood: str
    thickness: Thickness
    stacked: date
    setting: str
    sawn: date | None = None
    use: str | None = None
    target: float | None = None
    need: date | None = None
    from_mc: float | None = None
    moves: tuple[Move, ...] = ()
    boards: Boards | None = None
    width_mm: float | None = None
    length_mm: float | None = None
    sealed_ends: bool = False
    samples: tuple[Sample, ...] = ()
    note: str = ""

    @property
    def board(self) -> Board:
        """One of its boards."""
        return Board(
            self.species,
            self.thickness,
            width_mm=self.width_mm,
            length_mm=self.length_mm,
            sealed_ends=self.sealed_ends,
        )

    @property
    def began(self) -> date:
        """The first day anything can have been read on it."""
        return self.sawn or self.stacked

    def setting_on(self, day: date) -> str:
        """Return where the stack lies on a day."""
        places = [move.setting for move in self.moves if move.date <= day]
        return places[-1] if places else self.setting

    def sample(self, board: str) -> Sample | None:
        """Return the sample board of that mark."""
        return next((s for s in self.samples if s.board == board), None)


@dataclass(frozen=True)
class Yard:
    """A yard file, checked.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        The yard's own name, or the file's.
    units : {"us", "si"} or None
        The units it asks for; None leaves it to the computer's region.
    region : str or None
        Which column of the target table holds here.
    weather : WeatherSource
    meter : Meter
    described : tuple of str
        The settings the file describes.
    settings : mapping of str to Setting
        Every setting a stack may name: those described, then the defaults.
    stacks : tuple of Stack
    readings : Path
        The readings log.
    have : tuple of str
        Settings its wood may go to; empty for all.
    notes : tuple of str
        How general names were read.
    woods : mapping of str to Species
        Woods of the person's own.
    """

    path: Path
    name: str
    units: UnitSystem | None = None
    region: str | None = None
    weather: WeatherSource = field(default_factory=WeatherSource)
    meter: Meter = field(default_factory=Meter)
    described: tuple[str, ...] = ()
    settings: Mapping[str, Setting] = field(default_factory=dict)
    stacks: tuple[Stack, ...] = ()
    readings: Path = Path("readings.csv")
    have: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    woods: Mapping[str, Species] = field(default_factory=dict)

    def stack(self, name: str) -> Stack:
        """Return a stack by its name, capitals aside.

        Raises
        ------
        YardError
            When the yard has no such stack, with the nearest name.
        """
        for stack in self.stacks:
            if stack.name.casefold() == name.strip().casefold():
                return stack
        names = [stack.name for stack in self.stacks]
        near = did_you_mean(name, names)
        listed = ", ".join(names[:8]) + (", …" if len(names) > 8 else "")
        raise YardError(
            _(
                "{path}: there is no stack '{name}'.{near} Its stacks: {listed}.",
                path=self.path,
                name=name,
                near=near,
                listed=listed,
            )
            if names
            else _(
                "{path}: there is no stack '{name}'. It has no stacks yet.",
                path=self.path,
                name=name,
            )
        )
