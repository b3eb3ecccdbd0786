"""Judge readings taken together: shell and core, or two meters."""

from dataclasses import dataclass

from emcforecast.errors import InputError

EVEN_WITHIN = 2.0
"""Shell and core this near (% MC) count as even; common practice, no source."""

AGREE_WITHIN = 2.0
"""Two corrected readings this near (% MC) agree: 1 % for each meter, roughly."""


@dataclass(frozen=True)
class PairVerdict:
    """What a shell and a core reading say together.

    Parameters
    ----------
    ready : bool
        Whether both lie within the target, or are even when no target was given.
    mean : float
        The likely mean of the board, % of ovendry mass.
    verdict : str
        In a few words: "not ready: core 16".
    why : str
        The reason and what to do, in one or two sentences.
    """

    ready: bool
    mean: float
    verdict: str
    why: str


def mean_of_pair(shell: float, core: float) -> float:
    """Return the mean of a board from its shell and core, %.

    Notes
    -----
    A board that dries as usual is wettest in the middle and falls off as a
    parabola; its mean lies two thirds of the way from shell to core.

    Examples
    --------
    >>> mean_of_pair(10.0, 16.0)
    14.0
    """
    return shell + 2.0 / 3.0 * (core - shell)


def judge_pair(
    shell: float, core: float, target: tuple[float, float] | None = None
) -> PairVerdict:
    """Judge a shell and a core reading of one board.

    Parameters
    ----------
    shell, core : float
        Corrected moisture contents near the face and at mid-thickness, %.
    target : (float, float), optional
        Lowest and highest moisture content wanted, %.

    Returns
    -------
    PairVerdict

    Raises
    ------
    InputError
        When a number is not a moisture content.

    Examples
    --------
    >>> judge_pair(10.0, 16.0).verdict
    'not ready: core 16'
    >>> judge_pair(8.0, 9.0, (7.0, 9.0)).verdict
    'ready: 8 to 9'
    """
    for name, mc in (("shell", shell), ("core", core)):
        if not 0.0 <= mc <= 200.0:
            raise InputError(
                f"{name} {mc:g} is outside 0 to 200 % MC. Give the corrected reading."
            )
    mean = mean_of_pair(shell, core)
    apart = abs(core - shell)
    if shell - core > EVEN_WITHIN:
        return PairVerdict(
            False,
            mean,
            f"not ready: shell {shell:.0f} wetter than core {core:.0f}",
            "The outside has taken up water again, from rain, damp air or the floor. "
            "Find the damp, let it even out, then read again.",
        )
    if target is not None and core > target[1]:
        return PairVerdict(
            False,
            mean,
            f"not ready: core {core:.0f}",
            f"The shell reads {shell:.0f} but the core must come down to "
            f"{target[1]:g}. Cut now and it warps as the core follows.",
        )
    if apart > EVEN_WITHIN:
        return PairVerdict(
            False,
            mean,
            f"not ready: core {core:.0f}",
            f"The core is {apart:.0f} above the shell ({shell:.0f}); even means within "
            f"{EVEN_WITHIN:g}. Cut now and it warps as the core follows.",
        )
    span = f"{min(shell, core):.0f} to {max(shell, core):.0f}"
    if target is not None and min(shell, core) < target[0] - 1.0:
        return PairVerdict(
            False,
            mean,
            f"too dry: {span}",
            f"Below the {target[0]:g} wanted: it will swell in use. Let it take up "
            f"moisture where it will live.",
        )
    return PairVerdict(
        True,
        mean,
        f"ready: {span}",
        "Shell and core are even. Compare with the air ahead: flat in winter is not "
        "yet at rest for summer.",
    )


def compare_meters(first: float, second: float) -> tuple[bool, tuple[str, ...]]:
    """Say whether two corrected readings agree, and what to look at if not.

    Parameters
    ----------
    first, second : float
        Corrected moisture contents, %.

    Returns
    -------
    agree : bool
        Whether they lie within what two good meters differ.
    advice : tuple of str
        What to check, the likeliest first.

    Examples
    --------
    >>> compare_meters(11.0, 12.0)[0]
    True
    """
    apart = abs(first - second)
    if apart <= AGREE_WITHIN:
        return True, (
            f"They differ by {apart:.1f}: two good meters do. Take the mean, "
            f"{(first + second) / 2.0:.1f} %.",
        )
    return False, (
        f"They differ by {apart:.1f}; neither is to be believed yet.",
        "Check the species or specific-gravity setting of each.",
        "Read the same planed spot, 20 in or more from the ends, wood at room "
        "temperature.",
        "A pin meter at the surface and a pinless one through the face do not see "
        "the same wood: a wet core or a damp skin sets them apart.",
        "An oven-dry test of one cut piece settles it.",
    )
