"""Blocks worked on by a Dask Distributed cluster: the only room that knows of it.

Dask is an extra (``formulate-frozen-dessert[cluster]``).  A worker that dies is no fault: the scheduler
gives its blocks to another.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from formulate.errors import InputError, WorkerFault

__all__ = ["cluster_of"]

_ANSWERS_WITHIN_S = 10


@contextmanager
def cluster_of(address: str) -> Iterator[tuple[Executor, int]]:
    """Give an executor of the workers of a scheduler, and how many tasks they take at once.

    Parameters
    ----------
    address:
        As the scheduler says when it starts: ``tcp://192.0.2.7:8786``.

    Yields
    ------
    tuple of Executor and int

    Raises
    ------
    InputError
        If Dask Distributed is not installed, or no scheduler answers there.
    WorkerFault
        If the cluster gives a block up because workers die of it, or is gone itself.

    Examples
    --------
    >>> with cluster_of("nowhere") as (executor, tasks):
    ...     pass
    Traceback (most recent call last):
    ...
    formulate.errors.InputError: scheduler: ...
    """
    try:
        from distributed import CancelledError, Client, KilledWorker
        from distributed.comm import CommClosedError
    except ImportError:
        problem = "needs Dask Distributed, which is not installed"
        remedy = 'Install "formulate-frozen-dessert[cluster]", here and on every worker.'
        raise InputError("scheduler", problem, remedy) from None
    try:
        client = Client(address, timeout=_ANSWERS_WITHIN_S, set_as_default=False)
    except (OSError, TimeoutError, ValueError, TypeError):
        problem = f"nothing answers as a scheduler at {address}"
        raise InputError("scheduler", problem, "Start one, or mend the address.") from None
    try:
        yield client.get_executor(pure=False), sum(client.nthreads().values())
    except (CancelledError, CommClosedError, KilledWorker) as error:
        problem = "The cluster is gone, or its workers died of the same block again and again"
        raise WorkerFault(
            f"{problem} ({type(error).__name__}). Finished blocks are kept: mend the cluster and give "
            "the same command again."
        ) from None
    finally:
        client.close(timeout=_ANSWERS_WITHIN_S)
