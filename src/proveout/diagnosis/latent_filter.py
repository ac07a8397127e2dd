"""A small Gaussian over the latents of every prediction row, in square-root form.

The latents of a row (tolerances, leads, place within the severity cell) have the mean `shift` and the covariance
``root root'``. An observable with slopes a has the predicted value ``mean + a shift`` and the variance ``|root' a|^2``,
so that two readings that share a tolerance share what is known about it. A reading updates the row by Potter's
square-root filter (Bierman 1977, chapter 5): with ``v = root' a``, the innovation variance ``s = v v + r`` and the gain
``k = root v / s``, the shift moves by ``k (reading - predicted)`` and the root by ``-k v' / (1 + sqrt(r / s))``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.network.laws import Array

__all__ = ["LatentFilter"]

Rows = slice | npt.NDArray[np.intp]
Columns = int | npt.NDArray[np.intp]


@dataclass(frozen=True)
class LatentFilter:
    """Gaussians over K latents for G rows.

    Attributes
    ----------
    shift : (G, K) float
        Means, in prior standard deviations.
    root : (G, K, K) float
        Square roots of the covariances.
    """

    shift: Array
    root: Array

    @classmethod
    def start(cls, rows: int, latents: int) -> LatentFilter:
        """Return standard normal latents."""
        return cls(np.zeros((rows, latents)), np.broadcast_to(np.eye(latents), (rows, latents, latents)))

    def predicted(self, mean: Array, slopes: Array, rows: Rows = slice(None)) -> tuple[Array, Array]:
        """Return the predicted values and their variances in some rows, (row, observable) each.

        Parameters
        ----------
        mean : (row, observable) float
            Of those rows.
        slopes : (row, observable, K) float
        """
        lever = slopes @ self.root[rows]
        return mean + np.einsum("rxk,rk->rx", slopes, self.shift[rows]), np.einsum("rxk,rxk->rx", lever, lever)

    def updated(self, slopes: Array, innovation: Array, noise: Array, use: npt.NDArray[np.bool_]) -> LatentFilter:
        """Return the Gaussians after a reading of one observable.

        Parameters
        ----------
        slopes : (G, K) float
            Of the observable.
        innovation : (G,) float
            Reading less predicted value.
        noise : (G,) float
            Variance of the reading that no latent carries.
        use : (G,) bool
            Rows that take the reading in; the others stay as they are.
        """
        v = np.einsum("gkj,gk->gj", self.root, slopes)
        total = np.einsum("gj,gj->g", v, v) + noise
        gain = np.einsum("gkj,gj->gk", self.root, v) * (use / total)[:, None]
        share = 1.0 / (1.0 + np.sqrt(noise / total))
        return LatentFilter(
            self.shift + gain * innovation[:, None],
            self.root - (share[:, None] * gain)[:, :, None] * v[:, None, :],
        )
