"""What an answer rests on: the equation, its source, the boards, the places."""

from emcforecast.language import N_, _

SORPTION = N_(
    "Wood in air settles at its EMC, equilibrium moisture content, which follows from "
    "the air's temperature t (°C) and relative humidity h (0 to 1):"
)
EQUATION = (
    "EMC = 1800/W · [K h/(1 − K h) + (K₁ K h + 2 K₁ K₂ K² h²)/(1 + K₁ K h + "
    "K₁ K₂ K² h²)]"
)
COEFFICIENTS = N_(
    "W = 349 + 1.29 t + 0.0135 t²; K = 0.805 + 0.000736 t − 0.00000273 t²; "
    "K₁ = 6.27 − 0.00938 t − 0.000303 t²; K₂ = 1.91 + 0.0407 t − 0.000293 t²."
)
SOURCE = N_(
    "Source: Wood Handbook, FPL-GTR-190, chapter 4, the one-hydrate relation of "
    "Hailwood and Horrobin; its printed table is met within 0.06 % MC."
)
BOARD = N_(
    "A board follows slowly: its moisture moves by diffusion, shell before core, "
    "through every hour of every weather year. The numbers here are of such boards, "
    "not of the air."
)
PLACE = N_(
    "The air in a place is worked out from the weather outside: sun, roof, openings, "
    "ground, heating and what the wood gives off. `emcforecast settings` says what is "
    "assumed of each place."
)
RANGE = N_(
    "Every weather year is tried in turn, and with it what is not known of wood and "
    "place. Early, likely and late are 1, 5 and 9 chances in 10."
)


def why_words() -> dict[str, tuple[str, ...]]:
    """Return the paragraphs behind "why this number", by what they are about."""
    return {
        "equation": (_(SORPTION), EQUATION, _(COEFFICIENTS), _(SOURCE)),
        "forecast": (_(BOARD), _(PLACE), _(RANGE)),
    }
