"""A fence around a learner's program: bubblewrap, limits, and a watcher that stops it."""
from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import acidbase_lib

NOBODY = 65534
_PAGE = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096
_SYSTEM = ("/usr", "/bin", "/sbin", "/lib", "/lib32", "/lib64", "/etc/ld.so.cache",
           "/etc/alternatives")
_WORK = "/work-here"  # the folder in which a fenced program starts
_TRIAL_SECONDS = 20


class SandboxError(RuntimeError):
    """Learners' code is not run, because it cannot be fenced in; the text says what to do."""


@dataclass(frozen=True, slots=True)
class Fence:
    """What a fenced program may use at most.

    Parameters
    ----------
    memory : int
        Of each process, and of all of them together. [MB]
    processes : int
        Processes and threads together.
    seconds : int
        From its start to its end; processor time of one process likewise. [s]
    scratch : int
        Files it may write; they are in memory and gone afterwards. [MB]
    """

    memory: int = 1024
    processes: int = 64
    seconds: int = 120
    scratch: int = 64


DEFAULT_FENCE = Fence()


def sandbox_trouble() -> str:
    """Return why nothing can be fenced in on this machine; empty where it can."""
    for program, package in (("bwrap", "bubblewrap"), ("prlimit", "util-linux"),
                             ("setpriv", "util-linux")):
        if shutil.which(program) is None:
            return (f"the program {program} is not installed (Debian and Ubuntu: "
                    f"apt-get install {package})")
    try:
        trial = subprocess.run(fenced(["true"]), capture_output=True, encoding="utf-8",
                               errors="replace", check=False, timeout=_TRIAL_SECONDS)
    except (OSError, subprocess.TimeoutExpired) as slip:
        return f"bubblewrap does not run here ({slip})"
    if trial.returncode:
        told = (trial.stderr.strip().splitlines() or ["it says nothing"])[-1]
        return (f"bubblewrap does not run here ({told}); the system may forbid user namespaces "
                "(sysctl kernel.unprivileged_userns_clone, or AppArmor's own setting)")
    return ""


def require_sandbox() -> None:
    """Do nothing where learners' code can be fenced in.

    Raises
    ------
    SandboxError
        Where it cannot.
    """
    if trouble := sandbox_trouble():
        raise SandboxError(f"Learners' code was not run: {trouble}. It is never run without a "
                           "fence, unless you say so by the setting "
                           "SandboxProvisioner.run_learner_code_unprotected.")


def fenced(command: Sequence[str], fence: Fence = DEFAULT_FENCE, *, writable: Path | None = None,
           visible: Iterable[str | Path] = (), hidden: Iterable[str | Path] = ()) -> list[str]:
    """Return a command that runs another one inside the fence.

    Inside there is Python, this library, an empty folder to work in, and nothing else: no
    network, no other process, no other file, no setting of the person who marks.

    Parameters
    ----------
    command : sequence of str
        What to run.
    fence : Fence
        Its limits.
    writable : Path, optional
        The one folder that is shared with the outside: where a kernel's sockets are.
    visible : iterable of path
        Files and folders that can be read as well; modules in the folders can be imported.
    hidden : iterable of path
        Folders that must not be seen even where they lie inside something visible.
    """
    root = sys.platform != "win32" and os.geteuid() == 0
    python = dict.fromkeys(os.path.realpath(p) for p in (
        sys.base_prefix, sys.base_exec_prefix)) | dict.fromkeys((sys.prefix, sys.exec_prefix))
    library = os.path.dirname(os.path.abspath(acidbase_lib.__file__))
    more = [os.path.abspath(path) for path in visible]
    words = [shutil.which("bwrap") or "bwrap", "--unshare-ipc", "--unshare-pid", "--unshare-net",
             "--unshare-uts", "--unshare-cgroup-try", "--die-with-parent", "--new-session",
             "--hostname", "marking", "--clearenv"]
    if not root:  # root needs no user namespace, and leaves its rights inside
        words += ["--unshare-user", "--uid", str(NOBODY), "--gid", str(NOBODY)]
    shared = [] if writable is None else [str(writable)]
    size = str(fence.scratch * 2**20)
    for path in _SYSTEM:
        words += ["--ro-bind-try", path, path]
    words += ["--proc", "/proc", "--dev", "/dev", "--size", size, "--perms", "1777",
              "--tmpfs", "/dev/shm", "--remount-ro", "/dev"]
    for path in ("/tmp", _WORK):
        words += ["--size", size, "--perms", "1777", "--tmpfs", path]
    words += _folders([*python, *shared])
    for path in python:
        words += ["--ro-bind-try", path, path]
    masked = [place for place in map(os.path.abspath, hidden)
              if any(_inside(place, path) for path in (*_SYSTEM, *python))]
    for path in masked:
        words += ["--size", "65536", "--tmpfs", path]
    words += _folders([library, *more])
    for path in (library, *more):
        words += ["--ro-bind", path, path]
    for path in masked:
        words += ["--remount-ro", path]
    for path in shared:
        words += ["--bind", path, path]
    words += ["--remount-ro", "/", "--chdir", _WORK]
    folders = [path for path in more if os.path.isdir(path)]
    settings = {
        "PATH": os.pathsep.join([os.path.dirname(sys.executable), "/usr/bin", "/bin"]),
        "HOME": "/tmp", "LANG": "C.UTF-8", "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONPATH": os.pathsep.join([os.path.dirname(library), *folders]),
        "MALLOC_ARENA_MAX": "2", "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    for name, value in settings.items():
        words += ["--setenv", name, value]
    words.append("--")
    if root:
        words += [shutil.which("setpriv") or "setpriv", "--reuid", str(NOBODY), "--regid",
                  str(NOBODY), "--clear-groups", "--bounding-set=-all", "--inh-caps=-all"]
    words += [shutil.which("prlimit") or "prlimit", f"--as={fence.memory * 2**20}",
              f"--nproc={fence.processes}", f"--cpu={fence.seconds}", f"--fsize={size}",
              "--nofile=256", "--core=0"]
    return [*words, *command]


def let_nobody_in(folder: Path) -> None:
    """Give a folder and its files to the user that a marker run by root uses inside the fence."""
    if sys.platform != "win32" and os.geteuid() == 0:
        for path in (folder, *folder.iterdir()):
            os.chown(path, NOBODY, NOBODY)


class Watcher(threading.Thread):
    """Stops a fenced program that takes too long, or too much memory in all its processes.

    Parameters
    ----------
    pid : int
        The fence's own process; everything inside ends with it.
    fence : Fence
        The limits.
    shared : Path, optional
        The folder that is shared with the outside; it may not be filled.
    """

    PAUSE = 0.1
    SHARED = 2**20  # bytes, and entries by the hundred

    def __init__(self, pid: int, fence: Fence, shared: Path | None = None) -> None:
        super().__init__(name="fence watcher", daemon=True)
        self.stopped_because = ""
        self._pid, self._fence, self._shared = pid, fence, shared
        self._ended = threading.Event()

    def run(self) -> None:
        """Look, until told to end."""
        began = time.monotonic()
        checks: tuple[Callable[[], str], ...] = (self._memory, self._full)
        while not self._ended.wait(self.PAUSE):
            if time.monotonic() - began > self._fence.seconds:
                self.stop(f"it ran for more than {self._fence.seconds} seconds")
                return
            for check in checks:
                if why := check():
                    self.stop(why)
                    return

    def stop(self, why: str) -> None:
        """End everything inside the fence; the first reason given is the one that is told."""
        if not self._ended.is_set():
            self.stopped_because = self.stopped_because or why
        self._ended.set()
        with suppress(ProcessLookupError):
            os.kill(self._pid, getattr(signal, "SIGKILL", signal.SIGTERM))

    def end(self) -> None:
        """Stop looking; the program ended by itself."""
        self._ended.set()

    def _memory(self) -> str:
        used = sum(resident(pid) for pid in family(self._pid))
        return "" if used <= self._fence.memory * 2**20 else (
            f"its processes took more than {self._fence.memory} MB of memory")

    def _full(self) -> str:
        if self._shared is None:
            return ""
        total = 0
        try:
            for entry in os.scandir(self._shared):
                total += 10_000 + entry.stat(follow_symlinks=False).st_size
        except OSError:
            return ""
        return "" if total <= self.SHARED else "it filled the folder of its own connection"


def family(pid: int) -> list[int]:
    """Return a process and everything it started that still runs, whoever adopted it."""
    children: dict[int, list[int]] = {}
    for name in os.listdir("/proc"):
        if name.isdigit() and (told := _stat(int(name))):
            children.setdefault(int(told[1]), []).append(int(name))
    found, open_ = [], [pid]
    while open_:
        one = open_.pop()
        found.append(one)
        open_ += children.get(one, ())
    return found


def resident(pid: int) -> int:
    """Return the memory that a process really holds. [bytes]"""
    told = _stat(pid)
    return int(told[21]) * _PAGE if told else 0


def _stat(pid: int) -> list[str]:
    """The fields of /proc/PID/stat from the state on; empty where the process has gone."""
    try:
        return Path(f"/proc/{pid}/stat").read_text("utf-8", "replace").rpartition(")")[2].split()
    except OSError:
        return []


def _folders(paths: Iterable[str]) -> list[str]:
    """The words that make every folder on the way to these, open to whoever is inside."""
    way = {str(parent) for path in paths for parent in Path(path).parents}
    needed = sorted(p for p in way if p not in {"/", "/tmp"}
                    and not any(_inside(p, known) for known in _SYSTEM))
    return [word for path in needed for word in ("--perms", "0755", "--dir", path)]


def _inside(path: str, folder: str) -> bool:
    return path == folder or path.startswith(folder.rstrip("/") + "/")
