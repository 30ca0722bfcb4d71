"""Hand-ins marked in a process of its own, which is ended when one costs more than its budget.

A whole chunk goes there at once, which costs next to nothing. Only where the chunk overruns, or the
process dies on it, is it done again one by one, so that the one that costs too much is told and
the others are marked.
"""
from __future__ import annotations

import atexit
import os
import pickle
import signal
import subprocess
import sys
import threading
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import IO, Any

from acidbase_lib.classroom.marking.check_cells import marker_for
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits

from .hand_in import Done, HandedIn, mark_one, not_marked

_BOOT = ("import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
         "from acidbase_lib.classroom.gradebook.marking_worker import serve_standard_streams; "
         "serve_standard_streams()")


@dataclass(frozen=True, slots=True)
class Budget:
    """What one hand-in may cost, and a chunk that holds no odd one.

    Parameters
    ----------
    seconds : float
        A thousand times what an honest one takes. [s]
    memory : int
        Beside what the process has when it begins. [bytes]
    """

    seconds: float = 10.0
    memory: int = 500_000_000


BUDGET = Budget()
STARTING = 120.0  # until a process is ready, on the slowest machine [s]


class WorkerEndedError(RuntimeError):
    """The process that was marking is gone: it was ended, or it ended itself."""


def mark_within_budget(source: AssignmentSource, tasks: Sequence[HandedIn], limits: FileLimits,
                       budget: Budget = BUDGET) -> list[Done]:
    """Mark some submissions, each within its budget.

    Raises
    ------
    SourceError
        If the instructor's notebook cannot be marked with.
    """
    if not any(task.data for task in tasks):
        return [mark_one(source, task, limits, {}) for task in tasks]
    try:
        return _mark(source, tasks, limits, budget)
    except WorkerEndedError:
        return [_alone(source, task, limits, budget) for task in tasks]


def _alone(source: AssignmentSource, task: HandedIn, limits: FileLimits, budget: Budget) -> Done:
    try:
        return _mark(source, [task], limits, budget)[0]
    except WorkerEndedError:
        return not_marked(source, task, "Reading this file took more time or memory than any "
                          f"notebook needs ({budget.seconds:g} seconds, {budget.memory / 1e6:,.0f} "
                          "MB) and was ended. Nobody else's marks are touched. Look at it, and "
                          "mark it by hand.")


def _mark(source: AssignmentSource, tasks: Sequence[HandedIn], limits: FileLimits,
          budget: Budget) -> list[Done]:
    try:
        worker = _IDLE.take(source, budget)
    except (OSError, WorkerEndedError):  # no process can be had here: it has seen no hand-in
        return [mark_one(source, task, limits, {}) for task in tasks]
    try:
        ok, answer = worker.ask((list(tasks), limits), budget.seconds)
    except BaseException:
        worker.end()
        raise
    _IDLE.put(worker)
    if not ok:
        raise answer
    done: list[Done] = answer
    return done


class _Worker:
    """A process that marks by one source; what it is asked and answers are pickles in pipes."""

    def __init__(self, source: AssignmentSource, budget: Budget) -> None:
        self.source, self.budget = source, budget
        self._process: subprocess.Popen[bytes] | None = None
        self._to: IO[bytes]
        self._from: IO[bytes]
        if sys.platform == "linux" and hasattr(os, "fork") and all(
                thread.daemon or thread is threading.current_thread()
                for thread in threading.enumerate()):  # those that draw or serve, if any
            self._fork()
        else:
            self._start()
        self.owner = os.getpid()
        try:
            ok, error = self.ask(None, STARTING)  # its own time: it opens the unit meanwhile
            if not ok:
                raise error
        except BaseException:
            self.end()
            raise

    def ask(self, what: Any, seconds: float) -> tuple[bool, Any]:
        """Return what the process answers.

        Raises
        ------
        WorkerEndedError
            If it does not answer in time, or is gone.
        """
        watch = threading.Timer(seconds, self._kill)
        watch.start()
        try:
            pickle.dump(what, self._to)
            self._to.flush()
            answer: tuple[bool, Any] = pickle.load(self._from)
            return answer
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            raise WorkerEndedError from error
        finally:
            watch.cancel()
            watch.join()

    def end(self) -> None:
        """End the process, and wait until it is gone."""
        for pipe in (self._to, self._from):
            with suppress(OSError):
                pipe.close()
        self._kill()
        if self._process is not None:
            self._process.wait()
        else:
            with suppress(ChildProcessError):
                os.waitpid(self._pid, 0)

    def _kill(self) -> None:
        if self._process is not None:
            self._process.kill()
        else:
            with suppress(ProcessLookupError):
                os.kill(self._pid, getattr(signal, "SIGKILL", signal.SIGTERM))

    @staticmethod
    def _forked() -> int:
        if sys.platform == "win32":
            raise OSError("this system starts a process anew")
        return os.fork()

    def _fork(self) -> None:
        """Begin as a copy of this process, which knows the source already; no thread is lost."""
        asks, to = os.pipe()
        come, answers = os.pipe()
        with warnings.catch_warnings():  # threads of a library that the copy does not use
            warnings.simplefilter("ignore", DeprecationWarning)
            self._pid = self._forked()
        if self._pid == 0:
            try:
                os.close(to)
                os.close(come)
                _serve(os.fdopen(asks, "rb"), os.fdopen(answers, "wb"), self.source, self.budget)
            finally:
                os._exit(0)
        os.close(asks)
        os.close(answers)
        self._to, self._from = os.fdopen(to, "wb"), os.fdopen(come, "rb")

    def _start(self) -> None:
        """Begin as a new Python, where other threads work here or the system cannot fork."""
        self._process = subprocess.Popen([sys.executable, "-c", _BOOT], stdin=subprocess.PIPE,
                                         stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._to, self._from = self._process.stdin, self._process.stdout
        with suppress(OSError):  # asking it will tell
            for what in (sys.path, self.source, self.budget):
                pickle.dump(what, self._to)
            self._to.flush()


class _Idle:
    """Processes that wait for their next chunk; each is used by one thread at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._workers: list[_Worker] = []

    def take(self, source: AssignmentSource, budget: Budget) -> _Worker:
        """Return a process that marks by this source."""
        with self._lock:
            mine = [one for one in self._workers if one.owner == os.getpid()]
            fitting = [one for one in mine if one.source == source and one.budget == budget]
            self._workers = [one for one in mine if one not in fitting[:1]]
        return fitting[0] if fitting else _Worker(source, budget)

    def put(self, worker: _Worker) -> None:
        """Keep a process for the next chunk."""
        with self._lock:
            self._workers.append(worker)

    def end(self) -> None:
        """End those of this process."""
        with self._lock:
            workers, self._workers = self._workers, []
        for worker in workers:
            if worker.owner == os.getpid():
                worker.end()


_IDLE = _Idle()
atexit.register(_IDLE.end)  # of a process that only marks, such as a pool's


@contextmanager
def closing_workers() -> Iterator[None]:
    """End the processes that wait, once the block is done."""
    try:
        yield
    finally:
        _IDLE.end()


def serve_standard_streams() -> None:
    """Answer on standard input and output, as a process of its own."""
    asks, answers = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), 1)  # whatever prints must not stand among the answers
    _serve(asks, answers, pickle.load(asks), pickle.load(asks))


def _serve(asks: IO[bytes], answers: IO[bytes], source: AssignmentSource, budget: Budget) -> None:
    """Mark chunk after chunk, until nobody asks any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever asks is told, and closes the pipe
    answer: tuple[bool, Any]
    with suppress(OSError, EOFError):
        while True:
            asked = pickle.load(asks)
            try:
                if asked is None:  # whether it is ready
                    marker_for(source)
                    _limit_memory(budget)
                    answer = True, None
                else:
                    tasks, limits = asked
                    answer = True, [mark_one(source, task, limits, {}) for task in tasks]
            except Exception as error:
                answer = False, error
            pickle.dump(answer, answers)
            answers.flush()


def _limit_memory(budget: Budget) -> None:
    """Let the system refuse more memory than the budget has, where it can."""
    if sys.platform == "win32":
        return  # the limits on a file's size and parts hold everywhere
    try:
        import resource

        with open("/proc/self/statm", encoding="ascii") as file:
            now = int(file.read().split()[0]) * resource.getpagesize()
        most = resource.getrlimit(resource.RLIMIT_AS)[1]
        wanted = now + budget.memory
        resource.setrlimit(resource.RLIMIT_AS, (
            wanted if most == resource.RLIM_INFINITY else min(wanted, most), most))
    except (ImportError, OSError, ValueError):
        return
