"""Commands killed at random moments, on disks of many sizes, and two at once: what is left of it.

nice python -m tests.benchmarks.stops [--kills 200] [--sizes 40] [--pairs 20] [--damaged 200]

Five commands: a course set up, a class collected, a course studied, a form written, a backup put
back. After each stop the command is run again, as a person would, and everything must be as after
one undisturbed run: the same marks, files and history. On a full disk it must also say so in one
sentence that is true. Disks of a size need root (tmpfs). Exits with 1 where something differs.
"""
from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout, suppress
from io import StringIO
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE.parent / "classroom" / "gradebook")]

import small_unit  # noqa: E402
from handing_in import (  # noqa: E402
    RIGHT,
    answered,
    find,
    hand_in_to,
    make_course,
    released,
    small_source,
)
from stopping import files  # noqa: E402

from acidbase_lib.classroom.atomic_write import UnwrittenError  # noqa: E402
from acidbase_lib.classroom.commands import collect as collect_command  # noqa: E402
from acidbase_lib.classroom.commands import form as form_command  # noqa: E402
from acidbase_lib.classroom.commands import study as study_command  # noqa: E402
from acidbase_lib.classroom.commands.main import main as acidbase  # noqa: E402
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder  # noqa: E402
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table  # noqa: E402
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course  # noqa: E402
from acidbase_lib.classroom.notebooks import build_course  # noqa: E402
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource  # noqa: E402
from acidbase_lib.teaching.unit import open_unit  # noqa: E402

CLASS = 30
LEFT = ("*.part", "*.before", "*-journal")  # what no command leaves behind
COMMANDS = ("set-up", "collect", "study", "form", "restore")


class WrongError(AssertionError):
    """Something was left that an undisturbed run does not leave."""


class Trial:
    """One command with what it finds and what it is to leave; everything lies in one folder."""

    def __init__(self, name: str, kept: Path) -> None:
        self.name, self.kept, self.place = name, kept, kept
        kept.mkdir(parents=True)
        getattr(self, f"_prepare_{name.replace('-', '_')}")(kept)
        self.use(kept.with_name(f"{kept.name}-at-work"))
        began = time.perf_counter()
        code, said = self.in_a_child()
        self.seconds = time.perf_counter() - began
        assert code == 0, said
        self.clean = self.outcome()
        self.used = _size(self.place)

    def use(self, place: Path) -> None:
        """Put what the command finds into a folder, and work there."""
        self.place = place
        for inner in place.glob("*") if place.exists() else ():
            shutil.rmtree(inner) if inner.is_dir() else inner.unlink()
        shutil.copytree(self.kept, place, dirs_exist_ok=True)

    def run(self) -> int:
        """The command, in this process."""
        place = str(self.place)
        if self.name in {"set-up", "collect"}:
            return acidbase(["collect", f"{place}/in", "--unit", "small", "--roster",
                             f"{place}/roster.csv", "--out", f"{place}/out", "--course",
                             f"{place}/school"])
        if self.name == "study":
            return acidbase(["study", "--to", f"{place}/mine", "--no-open"])
        if self.name == "form":
            unit = open_unit("02_primary_disorder", form=7)
            try:
                form_command.write_pair(unit, self.place / "forms",
                                        template=form_command.template_of(unit.id))
            except form_command.CommandError:
                return 0  # it is there already, whole
            except UnwrittenError as trouble:
                print(f"acidbase form: {trouble}")
                return 2
            return 0
        return acidbase(["restore", "--course", f"{place}/school"])

    def outcome(self) -> object:
        """What there is now, in a form that can be compared; looked over on the way."""
        for pattern in LEFT:
            if found := [path for path in self.place.rglob(pattern) if path.stat().st_size
                         and ".kept" not in path.name]:  # put aside by a restore, with its journal
                raise WrongError(f"left behind: {found[0]}")
        if self.name == "study":
            return {name: data for name, data in files(self.place / "mine").items()
                    if name != ".acidbase-copied.json"}
        if self.name == "form":
            return files(self.place / "forms")
        folder = CourseFolder.find(self.place / "school")
        if bad := [one.sentence for one in check_course(folder) if not one.well]:
            raise WrongError(bad[0])
        rows = [(row.learner, row.score, row.state) for row in grades_table(folder, "small")]
        if self.name == "restore":
            return rows
        out = self.place / "out"
        return rows, (out / "grades.csv").read_bytes(), sorted(
            path.name for path in out.rglob("*") if path.is_file())

    def in_a_child(self, kill_after: float | None = None) -> tuple[int, str]:
        """Run it in a process of its own: its code, and what it said; -9 where it was killed."""
        told, tell = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(told)
            os.setsid()
            code, said = 70, StringIO()
            try:
                with redirect_stdout(said), redirect_stderr(said):
                    code = self.run()
            except BaseException as slip:
                said.write(f"{type(slip).__name__}: {slip}")
            with suppress(OSError):
                os.write(tell, said.getvalue()[-4_000:].encode())
            os._exit(code)
        os.close(tell)
        if kill_after is not None:
            time.sleep(kill_after)
            with suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)
        with os.fdopen(told, "rb") as answer:
            said_there = answer.read().decode("utf-8", "replace")
        status = os.waitpid(child, 0)[1]
        return os.waitstatus_to_exitcode(status), said_there

    def again(self) -> None:
        """Run it once more, as whoever finds it stopped would; compare."""
        code, said = self.in_a_child()
        if code != 0:
            raise WrongError(f"run again it said: {said[-500:]}")
        if self.outcome() != self.clean:
            raise WrongError("after another run it is not as after an undisturbed one")

    # --- what each command finds ---

    def _prepare_set_up(self, kept: Path) -> None:
        """A course without a gradebook, and a class's files."""
        make_course(kept / "school", "small", small_source())
        release = released(AssignmentSource.from_notebook(small_source(), "small"))
        (kept / "in").mkdir()
        for number in range(CLASS):
            notebook = answered(release, dict(list(RIGHT.items())[:number % 7]))
            if number % 5 == 0:
                notebook["cells"].append(find(notebook, "q1-1-answer"))
            data = json.dumps(notebook)
            (kept / "in" / f"n{100 + number}.ipynb").write_text(data[:900] if number == 3 else data)
        (kept / "roster.csv").write_text("id\n" + "".join(
            f"n{100 + number}\n" for number in range(CLASS + 2)))

    def _prepare_collect(self, kept: Path) -> None:
        """The same, collected once; then a third of the class hands in again."""
        self._prepare_set_up(kept)
        self.place, self.name = kept, "set-up"
        assert self.in_a_child()[0] == 0
        self.name = "collect"
        for path in sorted((kept / "in").glob("*.ipynb"))[::3]:
            text = path.read_text()
            path.write_text(text.replace('"nbformat_minor": 5', '"nbformat_minor": 4'))

    def _prepare_study(self, kept: Path) -> None:
        """A learner's course, one unit in an older version with answers in it."""
        self.place = kept
        assert self.in_a_child()[0] == 0
        path = kept / "mine" / "02_primary_disorder" / "02_primary_disorder.ipynb"
        notebook = json.loads(path.read_text("utf-8"))
        cell = find(notebook, "q2-1-answer")
        cell["source"] = "".join(cell["source"]).split("\n")[0] + "\npH: low"
        find(notebook, "q2-3-prompt")["source"] = "An older question."
        find(notebook, "q2-3-prompt")["metadata"]["nbgrader"].pop("checksum", None)
        path.write_text(json.dumps(notebook), "utf-8")
        (kept / "mine" / ".acidbase-copied.json").unlink()
        shutil.rmtree(kept / "mine" / "03_compensation")

    def _prepare_form(self, kept: Path) -> None:
        """An empty folder."""
        (kept / "forms").mkdir()

    def _prepare_restore(self, kept: Path) -> None:
        """A class collected and backed up; then the gradebook was damaged."""
        self._prepare_set_up(kept)
        self.place, self.name = kept, "set-up"
        assert self.in_a_child()[0] == 0
        self.name = "restore"
        with redirect_stdout(StringIO()):
            assert acidbase(["backup", "--course", str(kept / "school")]) == 0
        book = kept / "school" / "grading" / "gradebook.db"
        book.write_bytes(book.read_bytes()[:20_000])


def _size(place: Path) -> int:
    """What a folder's files take on a disk of pages. [bytes]"""
    return sum(-(-path.lstat().st_size // 4096) * 4096 for path in place.rglob("*")
               if path.is_file())


def killed(trial: Trial, times: int, dice: random.Random) -> str:
    """Kill it at random moments."""
    cut = 0
    for _ in range(times):
        trial.use(trial.place)
        code, _ = trial.in_a_child(kill_after=dice.uniform(0, trial.seconds))
        cut += code == -signal.SIGKILL
        trial.again()
    return f"{times} kills, {cut} before its end"


@contextmanager
def disk(place: Path, size: int) -> Iterator[None]:
    """A disk of a size in the place of a folder."""
    place.mkdir(exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", place], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "-l", place], check=True)


def on_small_disks(trial: Trial, sizes: int, work: Path) -> str:
    """Run it on disks that are full before its end, or just not."""
    first, full = _size(trial.kept), 0
    for number in range(sizes):
        size = first + round((trial.used - first) * 1.5 * (number + 0.2) / sizes) + 4_096
        place = work / "disk"
        with disk(place, size):
            trial.use(place)
            code, said = trial.in_a_child()
            if code != 0:
                full += 1
                lines = [line for line in said.splitlines() if line.startswith("acidbase ")]
                if code != 2 or len(lines) != 1 or "Traceback" in said or not (
                        "make room" in said or "No space" in said):
                    raise WrongError(f"on a disk of {size} bytes it said, with {code}: "
                                     f"{said[-700:]}")
            subprocess.run(["mount", "-o", f"remount,size={size * 4 + 50_000_000}", place],
                           check=True)
            trial.again()
    trial.place = work / f"{trial.kept.name}-at-work"
    return f"{sizes} disk sizes, {full} too small"


def two_at_once(trial: Trial, times: int, dice: random.Random) -> str:
    """Two people run it at the same time, or nearly."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(2) as pool:
        for _ in range(times):
            trial.use(trial.place)

            def late(seconds: float) -> tuple[int, str]:
                time.sleep(seconds)
                return trial.in_a_child()
            done = list(pool.map(late, [0.0, dice.uniform(0, trial.seconds / 2)]))
            if any(code != 0 for code, _ in done):
                raise WrongError(f"two at once: {[(code, said[-400:]) for code, said in done]}")
            if trial.outcome() != trial.clean:
                raise WrongError("two at once left something else than one")
    return f"{times} pairs at once"


def damaged(times: int, work: Path) -> str:
    """Damage a gradebook in many ways; each gives the same marks or a true sentence."""
    from test_damage import one_damage

    root = make_course(work / "damage", "small", small_source())
    release = released(AssignmentSource.from_notebook(small_source(), "small"))
    for learner, answers in (("ada", RIGHT), ("ben", {}), ("cy", {"q1-2": RIGHT["q1-2"]})):
        hand_in_to(root, learner, answered(release, answers))
    from acidbase_lib.classroom.gradebook.mark_class import mark_class
    from acidbase_lib.classroom.gradebook.safekeeping.backups import back_up

    mark_class(root, "small")
    back_up(CourseFolder.find(root))
    refused = sum(bool(one_damage(root, 1_000 + number)) for number in range(times))
    return f"{times} damaged gradebooks, {refused} refused with a sentence, the others as before"


def main() -> int:
    """Print a line a command; 1 where something is wrong."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    for name, usual in (("kills", 200), ("sizes", 40), ("pairs", 20), ("damaged", 200)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("commands", nargs="*", default=COMMANDS)
    given = parser.parse_args()
    collect_command._unit = lambda *_: small_unit.open_small_unit()
    build_course.generate_release = _release_by_copying
    study_command.course_folder = lambda: HERE.parents[1] / "course"
    dice, wrong, began = random.Random(given.seed), 0, time.monotonic()
    share = len(COMMANDS)
    with tempfile.TemporaryDirectory(prefix="acidbase-stops-") as place:
        work = Path(place)
        tries: list[tuple[str, Callable[[Trial], str]]] = [
            ("kills", lambda t: killed(t, given.kills // share, dice)),
            ("pairs", lambda t: two_at_once(t, given.pairs // share, dice))]
        if os.geteuid() == 0:
            tries.insert(1, ("sizes", lambda t: on_small_disks(t, given.sizes // share, work)))
        for name in given.commands:
            trial = Trial(name, work / name)
            for _, attempt in tries:
                try:
                    told = attempt(trial)
                except WrongError as slip:
                    told, wrong = f"WRONG: {slip}", wrong + 1
                    trial.place = work / f"{trial.kept.name}-at-work"
                print(f"{name:10s}{told}", flush=True)
        if given.damaged:
            try:
                print(f"{'damage':10s}{damaged(given.damaged, work)}", flush=True)
            except AssertionError as slip:
                print(f"{'damage':10s}WRONG: {slip}", flush=True)
                wrong += 1
    print(f"{wrong} wrong, {(time.monotonic() - began) / 60:.1f} minutes")
    return int(wrong > 0)


def _release_by_copying(root: Path, units: list[str], into: Path) -> None:
    """nbgrader's own part of a release, which takes seconds and writes elsewhere, is stood for."""
    for unit in units:
        shutil.copytree(root / "solutions" / unit, into / unit)


if __name__ == "__main__":
    sys.exit(main())
