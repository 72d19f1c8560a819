"""The arithmetic of columns of cards, for `drillbox.memory.forgetting`; loads numpy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.forgetting import Maths

if TYPE_CHECKING:
    from numpy.typing import NDArray

COLUMNS: Maths[NDArray[np.float64]] = Maths(np.exp, np.log2, np.minimum, np.maximum)
