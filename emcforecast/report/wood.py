"""The words of a wood's numbers: where they come from, which formula was used."""

from emcforecast.wood.movement import Movement
from emcforecast.wood.species import Figure
from emcforecast.wood.weight import StackWeight


def figure_source(figure: Figure) -> str:
    """Say where a wood's green moisture comes from."""
    return {
        "published": figure.source,
        "halves": f"half heartwood, half sapwood; {figure.source}",
        "one part": f"{figure.part}, the only part published; {figure.source}",
        "mean": (
            f"not published; mean {figure.part} value of the {figure.count} of "
            f"{figure.group} in the table stands in"
        ),
    }[figure.basis]


def moisture_source(stack: StackWeight) -> str:
    """Say where the moisture of a weighed stack comes from."""
    return "as given" if stack.green is None else f"green: {figure_source(stack.green)}"


def formula_words(change: Movement) -> str:
    """Say which published numbers a change of size rests on."""
    wood = change.shrinkage
    if change.by_coefficient:
        return f"published change of {wood.coefficient:.5f} of its size per % MC"
    return (
        f"published shrinkage of {wood.total:.3g} % from green to ovendry, evenly "
        f"below {wood.starts:g} % MC"
    )
