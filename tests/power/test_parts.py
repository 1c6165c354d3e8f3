"""Rows of 4096ths without their zeros, against plain numpy tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from lumenmap.power.limits import parts as module
from lumenmap.power.limits.parts import PARTS, Parts, in_parts

SHARES = arrays(
    np.float64,
    st.tuples(st.integers(1, 6), st.integers(1, 30)),
    elements=st.sampled_from([0.0, 1.0, 0.5, 1e-9, 1 - 1e-9, 0.3, 1 / 3, 2 / 4096]),
)


def rounded(share):
    """Up to whole 4096ths, but for a millionth."""
    return np.ceil(np.clip(share, 0, 1) * PARTS - PARTS * 1e-6) / PARTS + 0.0


def made(share):
    pixels = np.arange(share.shape[1])
    return Parts(tuple(in_parts(pixels, row) for row in share), share.shape[1])


@given(SHARES)
def test_shares_come_back_rounded_up_and_none_below_the_true_one(share):
    got = made(share).shares()
    assert (got == rounded(share)).all()
    assert (got >= share - 1e-6).all()
    assert np.allclose(made(share).totals(), rounded(share).sum(axis=1), rtol=0, atol=1e-12)


@given(SHARES)
def test_distinct_rows_put_together_again_are_the_rows(share):
    distinct, which = made(share).distinct()
    assert (distinct.shares()[which] == rounded(share)).all()
    assert len(np.unique(distinct.shares(), axis=0)) == len(distinct.rows)


@given(SHARES, st.integers(1, 4), st.randoms())
def test_zones_that_a_row_carries(share, zones, random):
    zone = np.array([random.randrange(zones) for _ in range(share.shape[1])])
    want = [(rounded(share)[:, zone == z] > 0).any(axis=1) for z in range(zone.max() + 1)]
    assert (made(share).carried(zone) == np.array(want)).all()


@pytest.mark.parametrize("channels", [1, 3])
@given(share=SHARES, seed=st.integers(0, 99))
def test_a_sparse_table_counts_as_a_dense_one(channels, share, seed):
    rng = np.random.default_rng(seed)
    weights = None if channels == 1 else rng.integers(0, 2, (share.shape[1], channels)) * 1.0
    values = rng.integers(0, 256, (4, share.shape[1] * channels)).astype(float)
    dense = made(share).table(1.0, np.float64, weights)
    each = np.ones((share.shape[1], 1)) if weights is None else weights
    want = (rounded(share)[:, :, None] * PARTS * each).reshape(len(share), -1).T
    assert isinstance(dense, np.ndarray) and (dense == want).all()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "DENSE", 0)
        thin = made(share).table(1.0, np.float64, weights)
    assert not isinstance(thin, np.ndarray) and (values @ thin == values @ want).all()
