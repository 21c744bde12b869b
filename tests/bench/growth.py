"""How time grows with size."""

from collections.abc import Iterator, Mapping

import numpy as np


def exponents(seconds: Mapping[int, Mapping[str, float]]) -> Iterator[tuple[str, float]]:
    """The power of size that each stage's time grows with, by least squares on logs, of stages run at two sizes."""
    names = dict.fromkeys(name for found in seconds.values() for name in found)
    for name in names:
        sizes = [size for size, found in seconds.items() if name in found]
        if len(sizes) > 1:
            yield name, float(np.polyfit(np.log(sizes), np.log([seconds[size][name] for size in sizes]), 1)[0])
