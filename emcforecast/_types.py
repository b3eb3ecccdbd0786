"""Types that many modules share: arrays by what they hold, and progress."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
TimeArray = NDArray[np.datetime64]

Progress = Callable[[float, str], None]
"""Called with the fraction done, 0 to 1, and what is being done."""
