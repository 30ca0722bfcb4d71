"""Files and folders written whole; what a stopped run left is cleared, another's draft is not."""
from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from acidbase_lib.classroom import atomic_write
from acidbase_lib.classroom.atomic_write import (
    UnwrittenError,
    drop_drafts,
    heal,
    replace_folder,
    write_whole,
)
from acidbase_lib.classroom.folder_lock import LockedError, one_at_a_time


@pytest.fixture
def ended() -> int:
    """The number of a process that has ended."""
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def test_the_next_write_clears_what_a_stopped_one_left(tmp_path: Path, ended: int) -> None:
    left = tmp_path / f".a.txt.{ended}.part"
    left.write_text("half")
    write_whole(tmp_path / "a.txt", "whole")
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_a_draft_of_a_running_process_and_a_strangers_file_stay(tmp_path: Path,
                                                                ended: int) -> None:
    running = tmp_path / f".a.txt.{os.getppid()}.part"
    strangers = tmp_path / ".a.txt.download.part"
    inner = tmp_path / "b" / f".c.{ended}.part"
    inner.parent.mkdir()
    for path in (running, strangers, inner):
        path.write_text("x")
    drop_drafts(tmp_path)
    assert running.exists()
    assert strangers.exists()
    assert not inner.exists()
    long_ago = time.time() - 2 * atomic_write.ABANDONED
    os.utime(running, (long_ago, long_ago))
    drop_drafts(tmp_path)
    assert not running.exists()


def test_a_file_and_its_folder_reach_the_disk_before_the_write_is_done(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The draft before its rename, the names after it: else a lost power leaves an empty file."""
    done: list[str] = []
    real_sync, real_replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (done.append(
        "folder" if os.path.isdir(f"/proc/self/fd/{handle}") else "file"), real_sync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda *paths: (done.append("rename"),
                                                       real_replace(*paths))[1])
    write_whole(tmp_path / "new" / "a.txt", "x")
    assert done == ["file", "rename", "folder", "folder"]
    done.clear()
    write_whole(tmp_path / "new" / "a.txt", "y", durable=False)
    assert done == ["rename"]


def test_a_file_system_that_cannot_wait_for_a_folder_is_written_to_all_the_same(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import errno

    real = os.fsync

    def not_for_folders(handle: int) -> None:
        if os.path.isdir(f"/proc/self/fd/{handle}"):
            raise OSError(errno.EINVAL, "Invalid argument")
        real(handle)

    monkeypatch.setattr(os, "fsync", not_for_folders)
    assert write_whole(tmp_path / "a.txt", "x").read_text() == "x"


def test_a_name_as_long_as_the_system_takes_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / ("x" * 250 + ".txt")
    assert write_whole(path, "x").read_text() == "x"


def test_a_folder_takes_anothers_place_whole(tmp_path: Path) -> None:
    for name, text in (("old", "1"), ("new", "2")):
        (tmp_path / name).mkdir()
        (tmp_path / name / f"{name}.txt").write_text(text)
    replace_folder(tmp_path / "new", tmp_path / "old")
    assert [path.name for path in (tmp_path / "old").iterdir()] == ["new.txt"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new", "old"]


def test_a_folder_that_was_set_aside_comes_back(tmp_path: Path) -> None:
    (tmp_path / ".old.before").mkdir()
    (tmp_path / ".old.before" / "a.txt").write_text("1")
    heal(tmp_path / "old")
    assert (tmp_path / "old" / "a.txt").read_text() == "1"


def test_a_folder_that_cannot_be_copied_leaves_the_old_one(tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    with pytest.raises(UnwrittenError, match="What is kept so far is safe"):
        replace_folder(tmp_path / "nowhere", tmp_path / "old")
    assert [path.name for path in tmp_path.iterdir()] == ["old"]


def test_a_second_command_waits_and_at_last_says_so(tmp_path: Path) -> None:
    with one_at_a_time(tmp_path), pytest.raises(LockedError, match="Wait until it has ended"), \
                one_at_a_time(tmp_path, longest_wait=0.2):
        pass
    with one_at_a_time(tmp_path, longest_wait=0):
        pass


def test_a_lock_of_a_killed_command_is_none(tmp_path: Path) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", "import sys, time\nfrom pathlib import Path\n"
         "from acidbase_lib.classroom.folder_lock import one_at_a_time\n"
         "with one_at_a_time(Path(sys.argv[1])):\n    print('held', flush=True)\n"
         "    time.sleep(60)", str(tmp_path)], stdout=subprocess.PIPE)
    assert child.stdout is not None
    assert child.stdout.readline() == b"held\n"
    child.kill()
    child.wait()
    child.stdout.close()
    with one_at_a_time(tmp_path, longest_wait=1):
        pass
