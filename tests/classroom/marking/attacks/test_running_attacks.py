"""Hostile code on the running lane: under bubblewrap, with small limits, beside honest learners."""
from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from handing_in import find, hand_in_to, make_course
from lanes import run_nbgrader
from running_course import FENCE, code_source, written
from running_table import HOSTILE, LISTED, RIGHT, Hostile

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.marking import sandbox
from acidbase_lib.classroom.marking.running_lane import run_notebook
from acidbase_lib.classroom.marking.sandbox import (
    Fence,
    SandboxError,
    fenced,
    sandbox_trouble,
)
from acidbase_lib.classroom.marking.sandbox_watch import family
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError

SMALL = Fence(memory=256, processes=24, seconds=10, scratch=8, other_programs=True)
pytestmark = pytest.mark.skipif(bool(sandbox_trouble()),
                                reason=f"nothing can be fenced in here: {sandbox_trouble()}")


@pytest.fixture(scope="module")
def code() -> AssignmentSource:
    return AssignmentSource.from_notebook(code_source(), "code")


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A course with keys, a gradebook and a neighbor's work, all of which must stay unseen."""
    root = make_course(tmp_path_factory.mktemp("code") / "school", "code", code_source())
    settings = "".join(f"\nc.SandboxProvisioner.{name} = {value}" for name, value in FENCE.items()
                       if name not in {"cell_seconds", "output"})
    with (root / "course" / "nbgrader_config.py").open("a") as config:
        config.write(settings + "\n")
    source = AssignmentSource.from_notebook(code_source(), "code")
    hand_in_to(root, "a-first", written(source, RIGHT), "code")
    mark_class(root, "code")
    return root


def inside(program: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(fenced([sys.executable, "-c", program], SMALL), capture_output=True,
                          text=True, check=False, timeout=30)


@pytest.fixture(scope="module")
def caps_hold() -> bool:
    """Whether each cap was seen to stop something harmless just beyond it."""
    memory = inside("try:\n    bytearray(300 * 2**20)\nexcept MemoryError:\n    print('held')")
    many = inside("import os, time\ntry:\n    for _ in range(40):\n        if os.fork() == 0:\n"
                  "            time.sleep(1)\n            os._exit(0)\n"
                  "except OSError:\n    print('held')")
    return "held" in memory.stdout and "held" in many.stdout


def test_every_cap_holds_before_anything_hostile_is_tried(caps_hold: bool) -> None:
    assert caps_hold


QUICK = ("a call over the network", "reading the keys", "an object equal to everything")


def marks_of(hostile: Hostile) -> list[pytest.MarkDecorator]:
    """The quick loop tries one of each kind: each starts a kernel of its own."""
    if hostile.slow:
        return [pytest.mark.long]
    return [] if hostile.name in QUICK else [pytest.mark.slow]


def test_what_the_quick_loop_tries_is_there() -> None:
    assert set(QUICK) <= {one.name for one in HOSTILE if not one.slow}


@pytest.fixture(scope="module")
def listener() -> Iterator[socket.socket]:
    """A server on this machine, which nothing from inside may reach."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        yield server


@pytest.mark.slow
@pytest.mark.parametrize("hostile", [
    pytest.param(one, id=one.name, marks=marks_of(one)) for one in HOSTILE])
def test_hostile_code_gains_nothing_and_harms_nobody(
        hostile: Hostile, code: AssignmentSource, school: Path, tmp_path: Path, caps_hold: bool,
        listener: socket.socket, monkeypatch: pytest.MonkeyPatch,
        record_property: Callable[[str, object], None]) -> None:
    assert caps_hold or not hostile.needs_caps, "not tried: the caps do not hold here"
    monkeypatch.setenv("ACIDBASE_SECRET", "x")
    monkeypatch.chdir(tmp_path)
    words = {"{course}": school, "{home}": tmp_path, "{pid}": os.getpid(),
             "{port}": listener.getsockname()[1]}
    text = hostile.code
    for word, value in words.items():
        text = text.replace(word, str(value))
    before = sorted(str(path) for path in school.rglob("*"))
    running = set(family(os.getpid()))
    began = time.monotonic()
    marked = run_notebook(written(code, text, LISTED), code,
                          settings=FENCE | {"hidden": [str(school)],
                                            "other_programs": hostile.other_programs})
    record_property("lane", "run")
    record_property("state", marked.state)
    assert marked.state in hostile.states
    assert (marked.score or 0.0) <= hostile.most
    assert (marked.score is None) == (marked.state == "not marked")
    assert hostile.says in marked.why
    if hostile.shows:
        assert marked.notebook is not None
        assert hostile.shows in str(find(marked.notebook, "q1-answer")["outputs"])
    assert time.monotonic() - began < 40
    assert set(family(os.getpid())) <= running, "something of it still runs"
    assert sorted(str(path) for path in school.rglob("*")) == before
    assert not list(tmp_path.iterdir())
    with pytest.raises(TimeoutError):
        listener.accept()


def test_honest_code_earns_its_marks_and_what_it_printed_is_kept(code: AssignmentSource) -> None:
    marked = run_notebook(written(code, f"print('I tried')\n{RIGHT}"), code, settings=FENCE)
    assert (marked.state, marked.score, marked.maximum) == ("marked", 3.0, 3.0)
    assert marked.notebook is not None
    assert find(marked.notebook, "q1-answer")["outputs"][0]["text"] == "I tried\n"


def test_a_learners_own_cells_are_run_where_they_stand(code: AssignmentSource) -> None:
    notebook = written(code, "def expected(hco3):\n    return half * 3 * hco3 + 8")
    place = notebook["cells"].index(find(notebook, "q1-answer"))
    notebook["cells"].insert(place, {"cell_type": "code", "metadata": {}, "source": "half = 0.5"})
    assert run_notebook(notebook, code, settings=FENCE).score == 3.0


@pytest.mark.slow
def test_repairs_hold_on_this_lane_too(code: AssignmentSource) -> None:
    """A forged check, a copied answer, a file cut off: as on the reading lane."""
    forged = written(code, "def expected(hco3): return 0")
    find(forged, "q1-check")["source"] = "2.0"
    marked = run_notebook(forged, code, settings=FENCE)
    assert (marked.state, marked.score) == ("marked after repair", 1.0)
    assert run_notebook(b"{", code, settings=FENCE).state == "not marked"


@pytest.mark.slow
def test_a_class_is_marked_with_a_hostile_one_in_it_by_either_command(school: Path,
                                                                      tmp_path: Path) -> None:
    import shutil

    source = AssignmentSource.from_notebook(code_source(), "code")
    ours = Path(shutil.copytree(school, tmp_path / "ours"))
    hand_in_to(ours, "hostile", written(source, "import os; os._exit(1)"), "code")
    hand_in_to(ours, "zoe", written(source, RIGHT), "code")
    theirs = Path(shutil.copytree(ours, tmp_path / "theirs"))
    mark_class(ours, "code")
    run_nbgrader("Autograde", theirs, "code")
    expected = [("a-first", "marked", 3.0), ("hostile", "not marked", None), ("zoe", "marked", 3.0)]
    for root in (ours, theirs):
        rows = grades_table(root, "code")
        assert [(row.learner, row.state, row.score) for row in rows] == expected
        assert "ended its own Python" in rows[1].why


def test_without_bubblewrap_nothing_is_run(code: AssignmentSource,
                                           monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sandbox.shutil, "which", lambda name: None)
    with pytest.raises(SandboxError, match=r"bwrap is not installed .*bubblewrap.*never run"):
        run_notebook(written(code, "raise SystemExit"), code, settings=FENCE)


def test_where_bubblewrap_cannot_run_nothing_is_run(code: AssignmentSource, tmp_path: Path,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "bwrap"
    broken.write_text("#!/bin/sh\necho 'bwrap: No permissions to create new namespace' >&2\nexit 1")
    broken.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    with pytest.raises(SandboxError, match=r"does not run here .*No permissions"):
        run_notebook(written(code, RIGHT), code, settings=FENCE)


@pytest.mark.slow
def test_only_the_plainly_named_setting_runs_code_without_a_fence(
        code: AssignmentSource, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sandbox.shutil, "which", lambda name: None)
    settings = FENCE | {"run_learner_code_unprotected": True}
    assert run_notebook(written(code, RIGHT), code, settings=settings).score == 3.0


def test_checks_that_look_at_the_learners_names_are_refused(code: AssignmentSource) -> None:
    notebook = code_source()
    find(notebook, "q1-check")["source"] = "assert expected(12) == 26"
    with pytest.raises(SourceError, match=r"q1-check gives 0 of 2 .*NameError.*learner\("):
        run_notebook(written(code, RIGHT), AssignmentSource.from_notebook(notebook, "code"),
                     settings=FENCE)
