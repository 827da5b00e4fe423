"""The one kind of array that is passed around: numbers in double precision."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array"]

Array = NDArray[np.float64]
