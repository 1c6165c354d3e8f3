"""Work in threads, ahead of its use."""

import time
from functools import partial

import pytest

from lumenmap.core.parallel import ahead


@pytest.mark.parametrize("threads", [1, 3])
def test_work_ahead_keeps_order_and_passes_errors_on(threads):
    assert list(ahead((partial(pow, n, 2) for n in range(9)), threads)) == [n**2 for n in range(9)]
    assert list(ahead([], threads)) == []
    items = ahead((partial(divmod, 12, 3 - n) for n in range(9)), threads)
    assert [next(items) for _ in range(3)] == [(4, 0), (6, 0), (12, 0)]
    with pytest.raises(ZeroDivisionError):
        next(items)


@pytest.mark.parametrize(("threads", "more"), [(1, 0), (3, 0), (1, 2)])
def test_work_is_done_no_further_ahead_than_was_said(threads, more):
    begun, last = [], threads + more
    items = ahead((partial(begun.append, n) for n in range(99)), threads, more)
    for taken in range(1, 4):
        next(items)
        assert len(begun) <= taken + last
    end = time.monotonic() + 10
    while len(begun) < 3 + more and time.monotonic() < end:
        time.sleep(0.001)
    assert len(begun) >= 3 + more, "what may be done ahead is done"
    items.close()
    assert len(begun) <= 3 + last
