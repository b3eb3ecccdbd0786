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
