"""The known word nearest to one that is not known, for refusals."""

from emcforecast.language.say import _


def did_you_mean(
    word: str, known: list[str] | tuple[str, ...], *, prefix: str = ""
) -> str:
    """Return " Did you mean 'x'?" for the nearest known word, or "".

    Parameters
    ----------
    word : str
        What was given.
    known : list of str
        What is allowed.
    prefix : str
        What all of them begin with; it makes none more like another.

    Returns
    -------
    str
        A sentence with a leading space, or the empty string.

    Examples
    --------
    >>> did_you_mean("lofft", ["loft", "barn"])
    " Did you mean 'loft'?"
    >>> did_you_mean("zzz", ["loft", "barn"])
    ''
    """
    import difflib

    bare = [other.removeprefix(prefix) for other in known]
    given = word[:60].lower().removeprefix(prefix)
    near = difflib.get_close_matches(given, bare, n=1, cutoff=0.5)
    return _(" Did you mean '{word}'?", word=f"{prefix}{near[0]}") if near else ""
