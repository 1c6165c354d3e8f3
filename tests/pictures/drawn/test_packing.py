"""Arrays in bytes: what comes out is what went in, without a copy; junk is refused."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from lumenmap.pictures.drawn.packing import packed, unpacked

KINDS = st.sampled_from(["<f2", "<f4", "<f8", "<i4", "<i8", "|u1"])
ARRAYS = arrays.arrays(KINDS, arrays.array_shapes(min_dims=0, max_dims=3, min_side=0, max_side=5))


@given(st.lists(ARRAYS, max_size=5), st.booleans())
def test_what_comes_out_is_what_went_in(given_, by_column):
    given_ = [np.asfortranarray(a) if by_column else a for a in given_]
    content = packed(given_)
    found = list(unpacked(content))
    assert len(found) == len(given_)
    whole = np.frombuffer(content, np.uint8)
    for a, b in zip(given_, found, strict=True):
        assert a.dtype == b.dtype and a.shape == b.shape and a.tobytes() == b.tobytes()
        assert b.flags.aligned and not b.flags.writeable
        assert not b.size or np.may_share_memory(whole, b), "a view, not a copy"


def test_each_is_a_file_that_numpy_reads():
    """Against NumPy's own reader of the format."""
    first, second = np.arange(7.0), np.eye(3, dtype=np.float16)
    content = packed([first, second])
    file = io.BytesIO(content)
    assert (np.load(file, allow_pickle=False) == first).all()
    file.seek(-file.tell() % 64, io.SEEK_CUR)
    assert (np.load(file, allow_pickle=False) == second).all()


@pytest.mark.parametrize("spoil", [lambda b: b[:-1], lambda b: b"junk" + b, lambda b: b + b"more"])
def test_junk_is_refused(spoil):
    with pytest.raises(ValueError, match=r"buffer|magic|EOF"):
        list(unpacked(spoil(packed([np.arange(5), np.arange(3.0)]))))


def test_objects_are_refused():
    """They would be code."""
    with pytest.raises(ValueError, match="Object arrays cannot be saved"):
        packed([np.array([print])])
    out = io.BytesIO()
    np.lib.format.write_array(out, np.array([print]), version=(1, 0), allow_pickle=True)
    with pytest.raises(ValueError, match="OBJECT array"):
        list(unpacked(out.getvalue()))
