"""The plane in cells: what the soundings in arrays and the compiled search among them share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.int64]
Numbers = NDArray[np.int32]

CELL_M = 12.0
NOBODY = np.iinfo(np.int64).min  # in the table: no cell
