"""The two kinds of array the room computes with."""

from typing import Any

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.floating[Any]]
Complex = npt.NDArray[np.complexfloating[Any, Any]]
