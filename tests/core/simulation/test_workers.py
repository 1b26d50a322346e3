"""Who makes runs: killed local processes, a dask cluster on the loopback address, addresses of none."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from core.errors import Refusal
from core.simulation.sweep import Sweep
from core.simulation.workers import LocalProcesses, cluster_at, each_made
from tests.core.simulation.test_sweep import plant, threads, varied


def once(flag: str, number: int) -> int:
    """Kills its process the first time it is asked."""
    path = Path(flag)
    if number == 1 and not path.exists():
        path.touch()
        os._exit(1)
    return 10 * number


def test_runs_of_a_killed_process_are_made_again(tmp_path: Path) -> None:
    flag = str(tmp_path / "killed")
    made = each_made(LocalProcesses, once, {k: (flag, k) for k in range(3)}, 2)
    assert sorted(one for one in made if one is not None) == [(0, 0), (1, 10), (2, 20)]


def test_a_dask_cluster_makes_the_same_runs_to_the_last_digit() -> None:
    distributed = pytest.importorskip("distributed")
    here = {"processes": False, "n_workers": 1, "dashboard_address": None, "host": "127.0.0.1"}
    of = plant()
    with (
        distributed.LocalCluster(protocol="tcp", **here) as cluster,
        cluster_at(cluster.scheduler_address) as make,
    ):
        assert Sweep(of, varied(of)).go(make) == Sweep(of, varied(of)).go(threads)


def test_an_address_of_no_cluster_is_refused() -> None:
    pytest.importorskip("distributed")
    with pytest.raises(Refusal, match="a dask scheduler that answers"), cluster_at("nowhere"):
        pass
