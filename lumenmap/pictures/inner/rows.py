"""`SparseRows`: a sparse matrix by its rows, as plain arrays that any loop can read."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy import sparse

F32 = NDArray[np.float32]
Ints = NDArray[np.int32]


class SparseRows(NamedTuple):
    """A sparse matrix (R, C) in compressed rows.

    Attributes
    ----------
    data, indices
        (E,): values, and their columns.
    indptr
        (R + 1,): where each row's entries begin, and the end.
    columns
        C.
    """

    data: F32
    indices: Ints
    indptr: Ints
    columns: int

    @property
    def rows(self) -> int:
        """Return R."""
        return len(self.indptr) - 1

    @property
    def nnz(self) -> int:
        """Return E."""
        return len(self.data)

    @classmethod
    def of(cls, matrix: sparse.csr_array) -> SparseRows:
        """Return the rows of a matrix of scipy's, sharing its memory."""
        return cls(matrix.data, matrix.indices, matrix.indptr, matrix.shape[1])

    def check(self, rows: int) -> None:
        """Refuse what isn't a matrix with so many rows.

        Raises
        ------
        ValueError
            Something points outside it.
        """
        ends, inside = self.indptr, self.indices
        if len(ends) != rows + 1 or ends[0] or not ends[-1] == len(inside) == len(self.data):
            raise ValueError("not the ends of so many rows")
        if (np.diff(ends) < 0).any():
            raise ValueError("rows that end before they begin")
        if len(inside) and not 0 <= inside.min() <= inside.max() < self.columns:
            raise ValueError("a column that isn't there")

    def times(self, values: F32) -> F32:
        """Return (R,) the product with (C,) values."""
        sums = np.concatenate(
            [[0.0], np.cumsum(self.data * values.take(self.indices), dtype=float)]
        )
        return np.asarray(np.diff(sums[self.indptr]), np.float32)

    def matrix(self) -> sparse.csr_array:
        """Return it as a matrix of scipy's, sharing memory."""
        from scipy import sparse  # slow to import, and a show on a house seen before needs none

        return sparse.csr_array((self.data, self.indices, self.indptr), (self.rows, self.columns))
