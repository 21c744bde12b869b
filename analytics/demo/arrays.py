"""The kinds of numpy array that the invented business is drawn with."""

import numpy as np
import numpy.typing as npt

Days = npt.NDArray[np.datetime64]
Flags = npt.NDArray[np.bool_]
Numbers = npt.NDArray[np.float64]
Places = npt.NDArray[np.int64]
Words = npt.NDArray[np.str_]
