"""Decay takes months of wet and warm wood."""

import numpy as np

from emcforecast.wood.risks.stain import decay_by_week


def test_decay_takes_wet_warm_months():
    time = np.arange("2025-05-01", "2026-05-01", dtype="datetime64[h]")
    warm, wet = np.full(time.size, 24.0), np.full(time.size, 60.0)
    levels = [week.level for week in decay_by_week(time, warm, wet, wet)]
    assert levels[0] == "low"
    assert levels[-1] == "severe"
    dry = np.full(time.size, 15.0)
    assert {week.level for week in decay_by_week(time, warm, dry, dry)} == {"low"}
    dry_outside = decay_by_week(time, warm, wet, dry)
    assert {week.level for week in dry_outside} == {"low"}
    frozen = decay_by_week(time, np.full(time.size, -5.0), wet, wet)
    assert {week.level for week in frozen} == {"low"}


def test_decay_counts_its_days_of_best_conditions():
    # 24 °C is the best warmth: seven days a week. docs/risks.md: 45, 120 and 240 days,
    # so the seventh week (49) is moderate, the eighteenth (126) high, the thirty-fifth
    # (245) severe.
    time = np.arange("2025-05-01", "2026-05-01", dtype="datetime64[h]")
    warm, wet = np.full(time.size, 24.0), np.full(time.size, 60.0)
    weeks = decay_by_week(time, warm, wet, wet)
    assert [week.measure for week in weeks[:2]] == [7.0, 14.0]
    levels = [week.level for week in weeks]
    begin = [levels.index(name) for name in ("moderate", "high", "severe")]
    assert begin == [6, 17, 34]
    # Half the warmth, half the days; three-hourly steps count the same.
    half = decay_by_week(time, np.full(time.size, 14.0), wet, wet)
    assert half[1].measure == 7.0
    coarse = decay_by_week(time[::3], warm[::3], wet[::3], wet[::3])
    assert coarse[1].measure == 14.0


def test_decay_needs_25_inside_and_20_outside():
    # 25 to 30 % inside; it stops at 20 % (Wood Handbook ch. 14, read).
    time = np.arange("2025-05-01", "2026-05-01", dtype="datetime64[h]")
    warm = np.full(time.size, 24.0)

    def last(inside, outside):
        mean, shell = (np.full(time.size, float(mc)) for mc in (inside, outside))
        return decay_by_week(time, warm, mean, shell)[-1].level

    assert last(26, 21) == "severe"
    assert last(24, 21) == "low"
    assert last(26, 19) == "low"
