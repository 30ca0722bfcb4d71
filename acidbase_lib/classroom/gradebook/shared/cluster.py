"""Marking on a Dask cluster that is there already: reached in time, of one version, not waited for.

Only the marking is done there. Files are read, and the gradebook is written, where the command
runs; a worker is sent hand-ins and the instructor's notebook, and needs neither folder nor
gradebook.
"""
from __future__ import annotations

import logging
import os
import re
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager, suppress
from dataclasses import replace
from importlib import import_module
from typing import Any

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

ANSWERS_IN = 20.0  # a scheduler, and its first worker [s]
LOOK_AGAIN = 5.0  # while a result is waited for: whether anybody is still at work [s]
_ADDRESS = re.compile(r"(?:tcp|tls)://(?:\[[0-9a-fA-F:.]+\]|[\w.-]+):\d{1,5}")


class ClusterError(RuntimeError):
    """A cluster that cannot be marked on; the text says why and what to do."""


@contextmanager
def marking_on(address: str, seconds: float = ANSWERS_IN) -> Iterator[Executor]:
    """Reach a cluster and yield it as an executor for ``mark_class``.

    Parameters
    ----------
    address : str
        The scheduler's, such as "tcp://10.0.0.5:8786".
    seconds : float
        How long to wait for the scheduler, for its first worker, and for another worker where the
        last one has gone. [s]

    Raises
    ------
    ClusterError
        The address is none, nothing answers there in time, no worker is there, or a worker has
        another version of Python, of the kit or of Dask's ``distributed``. Later, as a result is
        waited for: scheduler or workers are gone, or a worker ended while it marked.
    ModuleNotFoundError
        The extra ``dask`` is not installed.
    """
    if _ADDRESS.fullmatch(address) is None or int(address.rpartition(":")[2]) > 65_535:
        raise ClusterError(f"{address[:80]!r} is no scheduler's address: write it as the scheduler "
                           "prints it, such as tcp://10.0.0.5:8786.")
    distributed: Any = import_module("distributed")
    with _quiet():
        client = _reached(lambda: distributed.Client(address, timeout=seconds,
                                                     set_as_default=False), address, seconds)
        try:
            with suppress(OSError):  # how many there are is looked at next
                client.wait_for_workers(1, timeout=seconds)
            _require_one_version(client, address, seconds)
            yield OnCluster(client, address, seconds)
        finally:
            with suppress(Exception):  # it may be gone already
                client.close(timeout=5)


def _reached(connect: Callable[[], Any], address: str, seconds: float) -> Any:
    """Connect in a thread of its own: to one that takes the call and says nothing it never ends."""
    came: list[Any] = []

    def work() -> None:
        try:
            came.append(connect())
        except Exception as error:
            came.append(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    thread.join(seconds + 1)
    if came and not isinstance(came[0], Exception):
        return came[0]
    raise ClusterError(
        f"no Dask scheduler answered at {address} within {seconds:g} seconds"
        f"{f' ({type(came[0]).__name__})' if came else ''}. Is it running, is the port right, does "
        "a firewall stand between? Nothing was marked.")


def _require_one_version(client: Any, address: str, seconds: float) -> None:
    """Refuse workers whose Python, kit or Dask is not this one's: marks might differ."""
    found = client.get_versions(packages=["acidbase_lib"])
    if not found["workers"]:
        raise ClusterError(f"the scheduler at {address} had no worker within {seconds:g} seconds. "
                           f"Start one: `dask worker {address}`. Nothing was marked.")
    here = _versions(found["client"])
    for worker, told in sorted(found["workers"].items()):
        there = _versions(told) if isinstance(told, Mapping) else {}
        for name, version in here.items():
            if there.get(name) != version:
                other = there.get(name) or "(none that it can import)"
                raise ClusterError(
                    f"the worker {worker} has {name} {other}, and this machine has {version}. "
                    "Install the same on both; marks from two versions would not be one class's. "
                    "Nothing was marked.")


def _versions(told: Mapping[str, Any]) -> dict[str, str]:
    """Of what must be the same: Python's first two numbers, the kit, and Dask."""
    packages = told["packages"]
    return {"Python": ".".join(str(packages.get("python")).split(".")[:2]),
            "acidbase-lib": str(packages.get("acidbase_lib") or ""),
            "distributed": str(packages.get("distributed") or "")}


class OnCluster(Executor):
    """A cluster's workers as an executor that ends with a sentence, and never waits for nobody."""

    def __init__(self, client: Any, address: str, seconds: float = ANSWERS_IN) -> None:
        self._client, self._address, self._seconds = client, address, seconds
        self._max_workers = max(1, sum(client.nthreads().values()))

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Send a chunk away."""
        return _Awaited(self._client.submit(_there, fn, *args, **kwargs, pure=False), self)

    def wait_for(self, future: Any) -> Any:
        """Return what came of a chunk; look now and then whether anybody is at work on it."""
        alone_since: float | None = None
        while True:
            try:
                return future.result(timeout=LOOK_AGAIN)
            except (CancelledError, TimeoutError) as error:
                if future.done() and future.status == "error":
                    raise  # the marking itself ran out of time; it says so in words of its own
                if isinstance(error, CancelledError) or self._client.status != "running":
                    raise self._gone() from None
            except Exception as error:
                if type(error).__name__ == "KilledWorker":
                    raise ClusterError(
                        "workers ended again and again while they marked the same files, as where "
                        "their memory is too small. Marks kept so far are safe; give workers more, "
                        "or mark here without --cluster.") from None
                raise
            try:
                there = len(self._client.scheduler_info()["workers"])
            except Exception:
                raise self._gone() from None
            now = time.monotonic()
            alone_since = None if there else alone_since or now
            if alone_since is not None and now - alone_since > self._seconds:
                raise ClusterError(
                    f"the scheduler at {self._address} has had no worker for {self._seconds:g} "
                    "seconds. Marks kept so far are safe: start a worker, and run this again.")

    def _gone(self) -> ClusterError:
        return ClusterError(f"the scheduler at {self._address} is gone. Marks kept so far are "
                            "safe: start it, and run this again.")


class _Awaited(Future[Any]):
    """A chunk under way on a cluster."""

    def __init__(self, future: Any, executor: OnCluster) -> None:
        super().__init__()
        self._there, self._executor = future, executor

    def result(self, timeout: float | None = None) -> Any:
        """Return what came of it; a cluster that gives up is told in a sentence."""
        return self._executor.wait_for(self._there)


def _there(fn: Callable[..., Any], source: AssignmentSource, *rest: Any) -> Any:
    """What a worker does: the course's folder need not be on its machine."""
    if source.folder is not None and not os.path.isdir(source.folder):
        source = replace(source, folder=None)
    return fn(source, *rest)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the library's log off the screen: what it would say there is said in a sentence."""
    log = logging.getLogger("distributed")
    before = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        log.setLevel(before)


