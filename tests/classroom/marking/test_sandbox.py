"""The fence: what it holds by itself, without anybody looking."""
from __future__ import annotations

import os
import pwd
import subprocess
import sys
from pathlib import Path

import pytest

from acidbase_lib.classroom.marking import sandbox
from acidbase_lib.classroom.marking.sandbox import (
    Fence,
    SandboxError,
    fenced,
    sandbox_trouble,
    unused_user,
)

SMALL = Fence(memory=256, processes=24, seconds=20, scratch=8)
pytestmark = pytest.mark.skipif(bool(sandbox_trouble()),
                                reason=f"nothing can be fenced in here: {sandbox_trouble()}")
as_root = pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0,
                             reason="only root can be another user inside")


def start(program: str) -> subprocess.Popen[str]:
    return subprocess.Popen(fenced([sys.executable, "-c", program], SMALL), text=True,
                            stdin=subprocess.PIPE, stdout=subprocess.PIPE)


def said(program: str, fence: Fence = SMALL) -> str:
    done = subprocess.run(fenced([sys.executable, "-c", program], fence), capture_output=True,
                          text=True, check=False, timeout=30)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def slip_of(attempt: str, before: str = "pass") -> str:
    """The name of the error in which an attempt inside ends."""
    return said(f"import ctypes, errno, mmap, os\n{before}\ntry:\n    {attempt}\n"
                "except (OSError, MemoryError) as slip:\n    print(type(slip).__name__, "
                "errno.errorcode.get(getattr(slip, 'errno', None), ''))")


@pytest.mark.parametrize("attempt", [
    "mmap.mmap(-1, 2**20)", "os.memfd_create('x')", "os.fork()", "os.posix_spawn('/bin/true', "
    "['true'], {})", "os.mkdir('/dev/shm/x')", "open('/dev/shm/x', 'w')", "open('/x', 'w')"])
def test_memory_and_processes_outside_the_count_cannot_be_had(attempt: str) -> None:
    """Shared memory, memfd, /dev/shm, further programs: S10 of the faults."""
    assert slip_of(attempt).split()[-1] in {"EPERM", "EROFS"}


def test_the_zero_device_gives_no_shared_memory() -> None:
    place = "place = os.open('/dev/zero', os.O_RDWR)"
    assert slip_of("mmap.mmap(place, 2**20)", place) == "OSError ENODEV"


def test_every_folder_that_can_be_written_is_one_and_is_small() -> None:
    """Whatever lies in /tmp and its sub-folders together, 8 MB is all there is."""
    program = """
import os
os.makedirs('a/b/c')
written = 0
try:
    for n in range(100):
        for place in ('/tmp', '.', 'a', 'a/b/c'):
            with open(f'{place}/{n}', 'wb') as file:
                written += file.write(b'x' * 2**18)
except OSError as slip:
    print(slip.strerror, written // 2**20)
"""
    assert said(program) == "No space left on device 8"


def test_memory_of_the_one_process_is_held() -> None:
    assert slip_of("bytearray(300 * 2**20)") == "MemoryError"


def test_threads_are_held() -> None:
    program = """
import threading, time
began = 0
try:
    for _ in range(40):
        threading.Thread(target=time.sleep, args=(1,), daemon=True).start()
        began += 1
except RuntimeError:
    print('held', began < 24)
"""
    assert said(program) == "held True"


THREADS = """
import threading
stop = threading.Event()
try:
    for _ in range(15):
        threading.Thread(target=stop.wait, daemon=True).start()
    print('15 threads', flush=True)
except RuntimeError:
    print('no room', flush=True)
input()
"""


def test_one_learners_threads_leave_the_neighbors_alone() -> None:
    """Two fences at once, each with most of what one may have: S11 of the faults."""
    both = [start(THREADS), start(THREADS)]
    try:
        assert [one.stdout.readline().strip() for one in both if one.stdout] == ["15 threads"] * 2
    finally:
        for one in both:
            one.communicate("\n", timeout=20)


@as_root
def test_each_fence_has_a_user_whom_nobody_else_is() -> None:
    users = {int(said("import os; print(os.getuid())")) for _ in range(3)}
    assert len(users) == 3
    for user in users:
        with pytest.raises(KeyError):
            pwd.getpwuid(user)
    assert said("import os; print(os.getuid() == os.getgid(), os.getgroups())") == "True []"


@as_root
def test_in_a_container_of_few_users_one_of_them_is_taken(
        monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """As a container for 65,536 users shows it in /proc/self/uid_map."""
    def shown(rows: str) -> None:
        (tmp_path / "map").write_text(rows)
    monkeypatch.setattr(sandbox, "Path", lambda name: tmp_path / "map")
    shown("         0     100000      65536\n")
    assert unused_user() in range(61_184, 65_520)
    shown("         0       1000          1\n")
    with pytest.raises(SandboxError, match="no user to spare"):
        unused_user()


def test_new_user_namespaces_are_off_where_bubblewrap_can(tmp_path: Path) -> None:
    """bubblewrap's manual: --disable-userns, new in 0.8."""
    for code, words in ((0, ["--disable-userns"]), (1, [])):
        program = tmp_path / f"bwrap-{code}"
        program.write_text(f"#!/bin/sh\nexit {code}\n")
        program.chmod(0o755)
        assert sandbox._no_user_namespaces(str(program)) == words
