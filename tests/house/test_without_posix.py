"""The commands of the README where the system lacks what only POSIX has: as near as Linux can."""
from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from acidbase_lib.classroom.commands import demo

AS_ON_WINDOWS = """
import importlib, os, pkgutil, sys
import acidbase_lib
from acidbase_lib.classroom.commands.main import main

def everything():
    for module in pkgutil.walk_packages(acidbase_lib.__path__, "acidbase_lib."):
        try:
            importlib.import_module(module.name)
        except ModuleNotFoundError as missing:  # an extra of its own, which a hub alone installs
            if missing.name != "ltiauthenticator":
                raise

everything()  # other people's packages look at the platform for themselves: loaded as they are here
for name in [name for name in sys.modules if name.split(".")[0] == "acidbase_lib"]:
    del sys.modules[name]
for name in ("fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog"):
    sys.modules[name] = None  # an import of it fails
for name in ("getuid", "geteuid", "getgid", "getegid", "fork", "setsid", "killpg", "chown",
             "mkfifo", "O_NOFOLLOW", "O_NONBLOCK", "O_DIRECTORY", "sysconf"):
    delattr(os, name)
import acidbase_lib
everything()
from acidbase_lib.classroom.commands.main import main
for words in (["read", "7.28", "66", "30"], ["study", "02", "--no-open", "--to", "mine"],
              ["mark", "mine/02_primary_disorder/02_primary_disorder.ipynb"],
              ["demo", "--learners", "4", "--out", "demo"],
              ["collect", "demo/grading/submitted", "--unit", "02_primary_disorder", "--roster",
               "r.csv", "--course", "demo/course", "--out", "again"]):
    assert main(words) == 0, words
"""


@pytest.mark.slow
def test_every_module_loads_and_the_readme_s_commands_run(tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("id\nnobody\n", encoding="utf-8")
    done = subprocess.run([sys.executable, "-c", AS_ON_WINDOWS], cwd=tmp_path, check=False,
                          capture_output=True, encoding="utf-8")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Open first" in done.stdout


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="only Linux says what is open")
def test_no_file_is_open_while_it_is_moved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows does not move a folder in which a file, such as a gradebook, is open."""
    seen: list[str] = []
    move = demo.shutil.move

    def watched(new: Path, old: Path) -> None:
        files = [os.path.realpath(f"/proc/self/fd/{one}") for one in os.listdir("/proc/self/fd")]
        assert not [file for file in files if Path(file).is_relative_to(new.resolve())]
        seen.append(new.name)
        move(new, old)

    monkeypatch.setattr(demo.shutil, "move", watched)
    demo.make_demo(tmp_path / "demo", size=4)
    assert "grading" in seen
