"""A fence around a learner's program: bubblewrap, limits, and a watcher that stops it."""
from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import acidbase_lib

from .seccomp_filter import UnknownMachineError, filter_program, machine_here

NOBODY = 65534
# Linux's own distributions give these to nobody (systemd's UIDS-GIDS); then what a container has.
_USERS = range(0x70000000, 0x7FFC0000), range(61_184, 65_520)
_SYSTEM = ("/usr", "/bin", "/sbin", "/lib", "/lib32", "/lib64", "/etc/ld.so.cache",
           "/etc/alternatives")
_WORK = "/tmp/work-here"  # the folder in which a fenced program starts
_TRIAL_SECONDS = 20


class SandboxError(RuntimeError):
    """Learners' code is not run, because it cannot be fenced in; the text says what to do."""


@dataclass(frozen=True, slots=True)
class Fence:
    """What a fenced program may use at most.

    Parameters
    ----------
    memory : int
        Of each process, and of all of them and their files together. [MB]
    processes : int
        Processes and threads together.
    seconds : int
        From its start to its end; processor time of one process likewise. [s]
    scratch : int
        Files it may write; they are in memory and gone afterwards. [MB]
    other_programs : bool
        Whether it may start other programs. Where it may not, Linux itself holds every limit;
        where it may, the memory of all of them is looked at ten times a second only.
    """

    memory: int = 1024
    processes: int = 64
    seconds: int = 120
    scratch: int = 64
    other_programs: bool = False


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
    except UnknownMachineError as error:
        return str(error)
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"bubblewrap does not run here ({error})"
    if trial.returncode:
        last = (trial.stderr.strip().splitlines() or ["it says nothing"])[-1]
        return (f"bubblewrap does not run here ({last}); the system may forbid user namespaces "
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
           visible: Iterable[str | Path] = (), hidden: Iterable[str | Path] = (),
           user: int | None = None) -> list[str]:
    """Return a command that runs another one inside the fence.

    Inside there is Python, this library, an empty folder to work in, and nothing else: no
    network, no other process, no other file, no setting of the person who marks. It holds as
    long as this process lives.

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
    user : int, optional
        The user inside, where the marker is root; by default one whom nobody else is.

    Raises
    ------
    UnknownMachineError
        Where no filter of system calls is known for this processor.
    """
    root = sys.platform != "win32" and os.geteuid() == 0
    python = dict.fromkeys(os.path.realpath(p) for p in (
        sys.base_prefix, sys.base_exec_prefix)) | dict.fromkeys((
            sys.prefix, sys.exec_prefix,
            *(p for p in sys.path if p.endswith(("site-packages", "dist-packages")))))
    library = os.path.dirname(os.path.abspath(acidbase_lib.__file__))
    more = [os.path.abspath(path) for path in visible]
    bwrap = shutil.which("bwrap") or "bwrap"
    words = ["/bin/sh", "-c", 'exec 9<"$0" "$@"',
             _filter_file(fence.other_programs, os.getpid()),
             bwrap, "--seccomp", "9", "--unshare-ipc", "--unshare-pid", "--unshare-net",
             "--unshare-uts", "--unshare-cgroup-try", "--die-with-parent", "--new-session",
             "--hostname", "marking", "--clearenv"]
    if not root:  # root needs no user namespace, and leaves its rights inside
        words += ["--unshare-user", "--uid", str(NOBODY), "--gid", str(NOBODY),
                  *_no_user_namespaces(bwrap)]
    shared = [] if writable is None else [str(writable)]
    size = str(fence.scratch * 2**20)
    for path in _SYSTEM:
        words += ["--ro-bind-try", path, path]
    # /dev/zero could be mapped as memory that no process is seen to hold; /dev/shm stays empty.
    words += ["--proc", "/proc", "--dev", "/dev", "--dev-bind", "/dev/null", "/dev/zero",
              "--remount-ro", "/dev", "--size", size, "--perms", "1777", "--tmpfs", "/tmp",
              "--perms", "1777", "--dir", _WORK]
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
        who = str(unused_user() if user is None else user)
        words += [shutil.which("setpriv") or "setpriv", "--reuid", who, "--regid", who,
                  "--clear-groups", "--bounding-set=-all", "--inh-caps=-all"]
    words += [shutil.which("prlimit") or "prlimit", f"--as={fence.memory * 2**20}",
              f"--nproc={fence.processes}", f"--cpu={fence.seconds}", f"--fsize={size}",
              "--nofile=256", "--core=0"]
    return [*words, *command]


def unused_user() -> int:
    """Return the number of a user whom nobody on this machine is, another one at each call.

    Linux counts the processes of a user; so one learner's are not counted as another's.

    Raises
    ------
    SandboxError
        Where there is none, in a container of few users.
    """
    taken = set()
    for name in os.listdir("/proc"):
        if name.isdigit():
            with suppress(OSError):
                taken.add(os.stat(f"/proc/{name}").st_uid)
    for numbers in _USERS:
        free = _mapped("uid", numbers)
        for _ in range(100 if free else 0):
            user = random.SystemRandom().choice(random.SystemRandom().choice(free))
            if user not in taken and not _has_name(user) and _mapped("gid", range(user, user + 1)):
                return user
    raise SandboxError("Learners' code was not run: this container has no user to spare for it.")


def let_in(folder: Path, user: int) -> None:
    """Let the user inside the fence make sockets in a folder, and read what is in it already."""
    root = os.geteuid() == 0
    for path in folder.iterdir():
        if root:
            os.chown(path, 0, user)
        path.chmod(0o640 if root else 0o400)
    if root:
        os.chown(folder, user, user)


@lru_cache(maxsize=2)
def _filter_file(other_programs: bool, process: int) -> str:
    """A file in this process's memory that holds the filter; bubblewrap reads it from there."""
    place = os.memfd_create("acidbase-filter")
    os.write(place, filter_program(machine_here(), other_programs))
    return f"/proc/{process}/fd/{place}"


@lru_cache(maxsize=2)
def _no_user_namespaces(bwrap: str) -> list[str]:
    """The word that forbids new user namespaces inside, where bubblewrap is new enough (0.8)."""
    words = ["--unshare-user", "--disable-userns"]
    trial = subprocess.run([bwrap, *words, "--ro-bind", "/", "/", "true"], capture_output=True,
                           check=False, timeout=_TRIAL_SECONDS)
    return words[1:] if trial.returncode == 0 else []


def _mapped(kind: str, numbers: range) -> list[range]:
    """The parts of a range that exist among the users or groups of this container."""
    rows = [[int(word) for word in line.split()]
            for line in Path(f"/proc/self/{kind}_map").read_text(encoding="ascii").splitlines()]
    parts = [range(max(numbers.start, first), min(numbers.stop, first + count))
             for first, _, count in rows]
    return [part for part in parts if len(part)]


def _has_name(user: int) -> bool:
    try:
        import pwd
    except ImportError:
        return False  # not on every system on which this module is read
    try:
        pwd.getpwuid(user)
    except KeyError:
        return False
    return True


def _folders(paths: Iterable[str]) -> list[str]:
    """The words that make every folder on the way to these, open to whoever is inside."""
    way = {str(parent) for path in paths for parent in Path(path).parents}
    needed = sorted(p for p in way if p not in {"/", "/tmp"}
                    and not any(_inside(p, known) for known in _SYSTEM))
    return [word for path in needed for word in ("--perms", "0755", "--dir", path)]


def _inside(path: str, folder: str) -> bool:
    return path == folder or path.startswith(folder.rstrip("/") + "/")
