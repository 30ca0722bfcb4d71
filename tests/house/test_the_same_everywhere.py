"""The same seed and the same gas give the same text, whatever the machine is set to."""
from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from acidbase_lib.classroom.plain_letters import plain

SCRIPT = """
import hashlib, re, sys
from pathlib import Path
from acidbase_lib.classroom.report import class_pages
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.commands.demo import make_demo
from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.question_file import load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import candidates, cook
from acidbase_lib.teaching.recipes.choose_items import choose_sitting

def told(name, *things):
    text = "".join(map(repr, things))
    print(name, hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest())

told("cases", *(draw_case(oxygen=True, electrolytes=True, seed=i) for i in range(40)))
told("questions", *((e.prompt, sorted(e.predicted), e.because) for unit in unit_ids()
                    for e in cook(load_plan(unit), 3)))
told("a form", choose_sitting(candidates(load_plan("01_ranges"), 3), tuple(MISCONCEPTIONS)))
class_pages.today = lambda: "a day"  # another day it is, indeed, far in the east
make_demo(Path("demo"), size=4)
for path in sorted(p for p in Path("demo").rglob("*") if p.is_file()):
    if path.name not in ("gradebook.db", "log.jsonl"):  # names by chance, and the time
        told(path.as_posix(), re.sub(rb"Receipt: .*?</p>", b"", path.read_bytes()))  # the time
main(["read", "7.28", "66", "30"])
"""

PLAIN = {"LC_ALL": "C.UTF-8", "TZ": "UTC", "PYTHONHASHSEED": "0"}
MACHINES = {
    "another order of its sets": {"PYTHONHASHSEED": "1"},
    "far east": {"TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "2"},
    "no letters but English ones": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
}


def what_it_says(settings: dict[str, str], folder: Path) -> list[str]:
    """What the script prints on a machine of these settings, in plain letters."""
    folder.mkdir()
    done = subprocess.run([sys.executable, "-c", SCRIPT], cwd=folder, check=False,
                          env=os.environ | PLAIN | settings, capture_output=True)
    assert (done.returncode, done.stderr) == (0, b"")
    return "".join(map(plain, done.stdout.decode("utf-8"))).splitlines()


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    return what_it_says({}, tmp_path_factory.mktemp("machine") / "plain")


@pytest.mark.slow
@pytest.mark.parametrize("settings", MACHINES.values(), ids=MACHINES)
def test_another_machine_says_the_same(settings: dict[str, str], here: list[str],
                                       tmp_path: Path) -> None:
    """Patients, questions, a form, a whole class's marks and report, and a reading in words."""
    there = what_it_says(settings, tmp_path / "Łódź")
    assert len(here) > 40
    assert [(ours, theirs) for ours, theirs in zip(here, there, strict=True)
            if ours != theirs and "marking:" not in ours] == []  # but how fast it went
