"""Ordinary and ridge-penalised least squares, by the singular values of the scaled columns."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.stats.threads import one_thread

Floats = NDArray[np.float64]
NO_DIRECTION = 1e-13
"""Singular values below this share of the largest carry nothing: their direction gets no coefficient."""


@dataclass(frozen=True, eq=False)
class LeastSquares:
    """A fit of n values on p columns.

    ``coefficients`` (p); ``unscaled`` (p by p) times the residual variance is their covariance; ``residuals`` (n);
    ``freedom`` is n less the columns in effect, fewer than p where they are penalised or say the same.
    """

    coefficients: Floats
    unscaled: Floats
    residuals: Floats
    freedom: float
    r_squared: float

    @property
    def residual_sd(self) -> float:
        """Standard deviation of the values about the fit; NaN where no freedom is left."""
        return float(np.sqrt(self.residuals @ self.residuals / self.freedom)) if self.freedom > 0 else float("nan")

    @property
    def standard_errors(self) -> Floats:
        """Standard errors of the coefficients."""
        errors: Floats = self.residual_sd * np.sqrt(np.diag(self.unscaled))
        return errors


@one_thread()
def least_squares(x: Floats, y: Floats, penalty: Floats | None = None) -> LeastSquares:
    """Fit ``y`` (n) on ``x`` (n by p), the columns as given: hand in a column of ones for a level.

    ``penalty`` (p) is added to the diagonal of the normal equations: 0 leaves a coefficient free, residual variance
    over the variance of a group's effect makes it the shrunken one. A column that tells nothing gets coefficient 0.
    """
    weights = np.zeros(x.shape[1]) if penalty is None else np.sqrt(penalty)
    stacked = np.vstack([x, np.diag(weights)])
    sizes = np.linalg.norm(stacked, axis=0)
    scale = np.where(sizes > 0, sizes, 1.0)
    left, singular, right = np.linalg.svd(stacked / scale, full_matrices=False)
    kept = singular > NO_DIRECTION * singular[0]
    inverse = np.divide(1.0, singular, out=np.zeros_like(singular), where=kept)
    coefficients = (right.T * inverse) @ (left[: len(y)].T @ y) / scale
    half = right.T * inverse / scale[:, None]
    fitted = x @ coefficients
    residuals = y - fitted
    spread = float(np.square(y - y.mean()).sum())
    return LeastSquares(
        coefficients=coefficients,
        unscaled=half @ half.T,
        residuals=residuals,
        freedom=len(y) - float(np.square(x @ half).sum()),
        r_squared=1 - float(residuals @ residuals) / spread if spread else float("nan"),
    )
