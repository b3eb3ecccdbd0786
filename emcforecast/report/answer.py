"""What a command has to say, however it is shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr


@dataclass
class Answer:
    """What a command has to say, however it is printed.

    Parameters
    ----------
    command : str
        The command's name.
    inputs : mapping
        What was asked, as understood.
    result : mapping or dataclass
        The JSON result.
    text : str
        The words and table for a person.
    rows : sequence of mapping
        The table as rows for a CSV file.
    weather : Dataset or None
        The series the answer is based on.
    warnings, cautions : sequence of str
        What weakens the answer; what could hurt someone.
    """

    command: str
    inputs: Mapping[str, Any]
    result: Any
    text: str
    rows: Sequence[Mapping[str, Any]] = ()
    weather: "xr.Dataset | None" = None
    warnings: Sequence[str] = field(default_factory=tuple)
    cautions: Sequence[str] = field(default_factory=tuple)
