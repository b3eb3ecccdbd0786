"""What is drawn follows from the seed alone; nothing is kept between the runs here."""

from emcforecast.forecast.dry import dry
from emcforecast.weather.read import demonstration


def test_the_same_seed_gives_the_same_dates():
    first, second = (
        dry(demonstration(), "ash", "4/4", "2025-04-01", "shed", seed=4)
        for _ in range(2)
    )
    assert first.steps == second.steps
