"""Workers change how long a job takes and nothing else."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.jobs.workers import workers


def digest(lumenmap, examples, out, *words):
    show = examples / "alder-cottage" / "first-frost.toml"
    done = lumenmap("export", str(show), "-o", str(out), *words)
    assert done.code == 0, done
    return (out / "frames.rgb").read_bytes(), (out / "frames.json").read_bytes()


def test_two_processes_write_the_same_bytes(lumenmap, examples, tmp_path):
    alone = digest(lumenmap, examples, tmp_path / "out")
    assert digest(lumenmap, examples, tmp_path / "out", "--workers", "2") == alone


def test_a_cluster_writes_the_same_bytes(lumenmap, examples, tmp_path):
    """The reference is a real Dask scheduler on loopback."""
    from distributed import LocalCluster

    alone = digest(lumenmap, examples, tmp_path / "out")
    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=False,
        dashboard_address=None,
        protocol="tcp",
        host="127.0.0.1",
    ) as cluster:
        words = ("--cluster", cluster.scheduler_address)
        assert digest(lumenmap, examples, tmp_path / "out", *words) == alone


@pytest.mark.parametrize("count", [0, -1, 257])
def test_a_count_that_makes_no_sense_is_refused(count):
    with pytest.raises(InputError, match=f"is {count}; expected 1 to 256"), workers(count):
        pass


def test_a_silent_scheduler_is_named(monkeypatch):
    from lumenmap.jobs import workers as module

    monkeypatch.setattr(module, "SECONDS_TO_CONNECT", 0.2)
    with (
        pytest.raises(InputError, match='no Dask scheduler answers at "tcp://127.0.0.1:9"'),
        workers(cluster="tcp://127.0.0.1:9"),
    ):
        pass
    with pytest.raises(InputError, match="no Dask scheduler"), workers(cluster="here and there"):
        pass
