"""Ordinary and ridge-penalised least squares, by the singular values of the scaled columns.

Of very many rows first the triangle of their QR factors is made, some rows at a time: it has the same singular values
(Golub and Van Loan, Matrix Computations, 5.3), and neither a copy of the rows nor their left vectors are held.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.stats.slices import slices
from analytics.stats.threads import one_thread

Floats = NDArray[np.float64]
NO_DIRECTION = 1e-13
"""Singular values below this share of the largest carry nothing: their direction gets no coefficient."""
_BLOCK = 1024
"""Rows that are factored at once, while they are in the processor's own memory."""


@dataclass(frozen=True, eq=False)
class LeastSquares:
    """A fit of n values on p columns: ``coefficients`` (p), and ``residuals`` (n)."""

    coefficients: Floats
    residuals: Floats


@one_thread()
def least_squares(x: Floats, y: Floats, penalty: Floats | None = None) -> LeastSquares:
    """Fit ``y`` (n) on ``x`` (n by p), the columns as given: hand in a column of ones for a level.

    ``penalty`` (p) is added to the diagonal of the normal equations: 0 leaves a coefficient free, residual variance
    over the variance of a group's effect makes it the shrunken one. A column of zeros gets coefficient 0; columns that
    say the same share theirs.
    """
    weights = np.zeros(x.shape[1]) if penalty is None else np.sqrt(penalty)
    sizes = np.sqrt(np.einsum("np,np->p", x, x) + np.square(weights))
    scale = np.where(sizes > 0, sizes, 1.0)
    triangle, along = _factored(x, y, weights, scale)
    left, singular, right = np.linalg.svd(triangle)
    kept = singular > NO_DIRECTION * singular[0]
    inverse = np.divide(1.0, singular, out=np.zeros_like(singular), where=kept)
    coefficients = (right.T * inverse / scale[:, None]) @ (left.T @ along)
    return LeastSquares(coefficients, y - x @ coefficients)


def _factored(x: Floats, y: Floats, weights: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """The triangle (p by p) of the scaled columns with the penalties beneath them, and the values along it (p)."""
    found = np.column_stack([np.diag(weights / scale), np.zeros(len(weights))])
    for rows in slices(len(y), _BLOCK):
        both = np.vstack([found, np.column_stack([x[rows] / scale, y[rows]])])
        found = np.linalg.qr(both, mode="r")  # type: ignore[assignment]
    return found[: len(weights), : len(weights)], found[: len(weights), -1]
