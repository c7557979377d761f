"""The arrays of the core: double precision, shapes in the docstrings that take and return them."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
