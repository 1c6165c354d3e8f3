"""`SparseRows`: a sparse matrix by its rows, as plain arrays that any loop can read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy import sparse

F32 = NDArray[np.float32]
Ints = NDArray[np.int32]
Whole = NDArray[np.signedinteger[Any]]


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
    indptr: Whole
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
    def gathered(cls, row: Whole, column: Whole, value: F32, shape: tuple[int, int]) -> SparseRows:
        """Return the matrix (R, C) of entries (E,) in any order.

        Those of one place are added up, in the order in which they come.
        """
        rows, columns = shape
        place = row.astype(np.int64) * columns + column
        order = np.argsort(place, kind="stable")  # entries come in runs, which that makes use of
        place, value = place[order], value[order]
        new = np.ones(len(place), bool)
        np.not_equal(place[1:], place[:-1], out=new[1:])
        if not new.all():
            first = np.flatnonzero(new)
            place, value = place[first], np.add.reduceat(value, first)
        row, column = np.divmod(place, columns)
        ends = np.concatenate([[0], np.cumsum(np.bincount(row, minlength=rows))])
        kind = np.int32 if len(place) < 1 << 31 else np.int64
        return cls(value, column.astype(np.int32), ends.astype(kind), columns)

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

    def matrix(self) -> sparse.csr_array:
        """Return it as a matrix of scipy's, sharing memory."""
        from scipy import sparse  # slow to import, and a show on a house seen before needs none

        return sparse.csr_array((self.data, self.indices, self.indptr), (self.rows, self.columns))
