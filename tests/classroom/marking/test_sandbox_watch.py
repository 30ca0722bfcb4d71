"""The watcher: what no limit of Linux's holds by itself is counted, and too much of it ends."""
from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from acidbase_lib.classroom.marking.sandbox import Fence, fenced, let_in, sandbox_trouble
from acidbase_lib.classroom.marking.sandbox_watch import Watcher, family, process_status

SMALL = Fence(memory=128, processes=24, seconds=8, scratch=100)
OTHERS = Fence(memory=128, processes=24, seconds=8, scratch=100, other_programs=True)
pytestmark = pytest.mark.skipif(bool(sandbox_trouble()),
                                reason=f"nothing can be fenced in here: {sandbox_trouble()}")
USER = 0x70000001 if os.geteuid() == 0 else os.geteuid()


def why_stopped(program: str, fence: Fence = SMALL, shared: Path | None = None) -> str:
    """Why a program was ended that otherwise sleeps until its time is over."""
    if shared is not None:
        let_in(shared, USER)
    words = fenced([sys.executable, "-c", f"{program}\nimport time\ntime.sleep(6)\n"], fence,
                   writable=shared, user=USER if os.geteuid() == 0 else None)
    with subprocess.Popen(words, stderr=subprocess.DEVNULL) as process:
        watcher = Watcher(process.pid, fence, shared)
        watcher.start()
        process.wait(20)
        watcher.end()
    return watcher.stopped_because


@pytest.fixture
def shared(tmp_path: Path) -> Path:
    """A folder that the outside shares with the fence, as it does a kernel's sockets."""
    place = tmp_path / "shared"
    place.mkdir()
    (place / "connection.json").write_text("{}")
    return place


def test_an_honest_program_is_let_be() -> None:
    assert why_stopped("raise SystemExit") == ""


def test_a_sub_folder_counts_as_the_folder_does(shared: Path) -> None:
    program = f"""
import os
os.makedirs({str(shared)!r} + '/a/b/c')
open({str(shared)!r} + '/a/b/c/x', 'wb').write(b'x' * 2**21)"""
    assert "filled the folder" in why_stopped(program, shared=shared)


def test_many_empty_folders_count(shared: Path) -> None:
    program = f"""
import os
for n in range(200):
    os.makedirs({str(shared)!r} + f'/a/{{n}}')"""
    assert "filled the folder" in why_stopped(program, shared=shared)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads every folder")
def test_a_folder_that_cannot_be_looked_into_counts_as_full(shared: Path) -> None:
    assert "filled the folder" in why_stopped(
        f"import os; os.mkdir({str(shared)!r} + '/a', 0)", shared=shared)


def test_a_closed_folder_takes_nothing_more(shared: Path) -> None:
    let_in(shared, USER)
    program = f"""
import os, time
place = {str(shared)!r}
open(place + '/first', 'w').close()
while os.stat(place).st_mode & 0o020 and os.access(place, os.W_OK):
    time.sleep(0.05)
input()
for attempt in (lambda: os.chmod(place, 0o777), lambda: open(place + '/x', 'w'),
                lambda: os.mkdir(place + '/y'), lambda: os.remove(place + '/connection.json'),
                lambda: open(place + '/connection.json', 'w')):
    try:
        attempt()
    except OSError as slip:
        print(type(slip).__name__)"""
    words = fenced([sys.executable, "-c", program], SMALL, writable=shared,
                   user=USER if os.geteuid() == 0 else None)
    with subprocess.Popen(words, text=True, stdin=subprocess.PIPE,
                          stdout=subprocess.PIPE) as process:
        until = time.monotonic() + 10
        while not (shared / "first").exists() and time.monotonic() < until:
            time.sleep(0.05)
        Watcher(process.pid, SMALL, shared).close_folder()
        told, _ = process.communicate("\n", timeout=20)
    assert told.split() == ["PermissionError"] * 4, "and chmod does nothing"
    assert sorted(path.name for path in shared.iterdir()) == ["connection.json", "first"]
    shared.chmod(0o700)


def test_a_folder_is_closed_once_a_kernel_has_its_sockets(shared: Path,
                                                          monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Watcher, "READY", 2)
    program = f"""
import socket, time
held = [socket.socket(socket.AF_UNIX) for _ in range(5)]
for n, one in enumerate(held):
    one.bind({str(shared)!r} + f'/k-{{n}}')
for n in range(50):
    try:
        open({str(shared)!r} + f'/{{n}}', 'w').close()
    except PermissionError:
        raise SystemExit
    time.sleep(0.1)"""
    began = time.monotonic()
    assert why_stopped(program, shared=shared) == ""
    assert time.monotonic() - began < 4, "it was let put files there until the end"
    shared.chmod(0o700)


def test_files_count_as_memory_together_with_the_processes() -> None:
    """70 MB held and 70 MB written are more than 128, though neither is."""
    told = why_stopped("x = bytearray(b'x') * (70 * 2**20)\n"
                       "open('y', 'wb').write(x)")
    assert "took more than 128 MB" in told


def test_memory_in_several_processes_is_added_up() -> None:
    told = why_stopped("import os\nfor _ in range(2):\n    if os.fork() == 0:\n        break\n"
                       "x = bytearray(b'x') * (60 * 2**20)", OTHERS)
    assert "took more than 128 MB" in told


def test_empty_files_are_counted() -> None:
    assert "more than 2000 files" in why_stopped(
        "for n in range(3_000):\n    open(str(n), 'w').close()")


def test_sockets_that_nobody_takes_are_counted() -> None:
    """Each holds what was sent to it, closed or not, and no limit of Linux's counts them."""
    program = """
import socket
heard = socket.socket(socket.AF_UNIX)
heard.bind('\\0x')
heard.listen(400)
for _ in range(300):
    with socket.socket(socket.AF_UNIX) as one:
        one.connect('\\0x')"""
    assert "more than 200 sockets" in why_stopped(program)


def test_processes_are_counted_where_linux_does_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fence told 24 and a watcher told 4: as on a Linux before 5.14, where users share."""
    watched = Watcher.__init__

    def of_four(self: Watcher, pid: int, fence: Fence, shared: Path | None = None) -> None:
        watched(self, pid, Fence(128, 4, 8, 100), shared)
    monkeypatch.setattr(Watcher, "__init__", of_four)
    told = why_stopped("import threading, time\nfor _ in range(6):\n"
                       "    threading.Thread(target=time.sleep, args=(6,), daemon=True).start()")
    assert "more than 4 processes and threads" in told


def test_time_is_counted() -> None:
    assert why_stopped("", Fence(128, 24, 1, 8)) == "it ran for more than 1 seconds"


def test_a_process_that_has_gone_holds_nothing() -> None:
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        process.wait()
    assert process_status(process.pid) == {}
    assert family(process.pid) == [process.pid]
    assert process_status(os.getpid())["VmRSS"] > 1_000
