"""The readers of what others write, what each may refuse, and how inputs for it are made up."""
from __future__ import annotations

import copy
import io
import json
import shutil
import time
import zipfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from handing_in import RIGHT, answered, make_course, released, small_source
from hypothesis import strategies as st

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.hand_in import HandedIn, handed_in_at, mark_one
from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.owners import Owners
from acidbase_lib.classroom.gradebook.roster import IntakeError, RosterLine, read_roster
from acidbase_lib.classroom.gradebook.zip_bundle import opened
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.carry_answers import carry_over
from acidbase_lib.classroom.notebooks.read_notebook import FileLimits, UnreadableNotebookError
from acidbase_lib.classroom.phrases import printable
from acidbase_lib.teaching.handwritten.open_sheet import read_text
from acidbase_lib.teaching.handwritten.question_sheet import UnreadableError
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.first_try import (
    kept_lines,
    place_of,
    put_back,
    read_answer,
    with_first_try,
    with_reason,
    without_first_try,
)
from acidbase_lib.teaching.questions.question_file import UnitError, read_plan

MOST = 20  # times what an honest input of its size costs
GRACE = 0.004  # what a busy machine may add [s]
LARGEST = 40_000  # of an input made up here [bytes]

SOURCE = AssignmentSource.from_notebook(small_source(), "small")
RELEASE = json.dumps(released(SOURCE)).encode()
FIELDS = (STANDARD_FIELDS["pH"], STANDARD_FIELDS["disorder"], STANDARD_FIELDS["compensation"],
          Field("answer", "one", lettered(["pH 7.20", "pH 7.30", "pH 7.50"])),
          Field("signs", "many", lettered(["drowsy", "flushed", "sweating"])),
          Field("order", "order", (Choice("sit up"), Choice("listen"), Choice("call"))),
          Field("expected PaCO2", "number", unit="mmHg"), Field("because", "text"))
CLASS = tuple(RosterLine(f"u{n:03d}", (f"u{n:03d}",), (f"ada{n}", "quill")) for n in range(50))


@dataclass(frozen=True)
class Reader:
    """One reader: what it does with bytes, what it may refuse with, an honest input of a size."""

    read: Callable[[bytes, Path], object]
    honest: Callable[[int], bytes]
    made_up: st.SearchStrategy[bytes]
    refuses: tuple[type[Exception], ...] = ()


# --- text, made up: pieces that mean something, odd letters, and one piece many times over ---

ODD = ["\u0301", "\u0327", "\u0f73", "\u200d", "\u202e", "\x00", "\x1b[2J", "０", "①", "ﷺ", "µ",
       "−", "ß", "İ", "\u0430", "\U0001f600", "\x85", "\u2028", "\t", "\r", "\r\n", "\xa0"]


def texts(*pieces: str) -> st.SearchStrategy[bytes]:
    """Texts for a reader in whose language these pieces mean something."""
    piece = st.one_of(st.sampled_from(list(pieces)), st.sampled_from(ODD),
                      st.text(max_size=4), st.sampled_from(list(" \n:;,.>()[]{}\"'#%*-=+/\\|1aA")))
    some = st.lists(piece, max_size=12).map("".join)
    pumped = st.builds(lambda a, unit, n, z: a + (unit or "x") * n + z, some,
                       st.lists(piece, min_size=1, max_size=3).map("".join),
                       st.integers(1, 20_000), some)
    several = st.lists(st.one_of(some, pumped), max_size=3).map("\n".join)
    return st.one_of(some, pumped, several).map(
        lambda text: text[:LARGEST].encode("utf-8", "replace")[:LARGEST])


def again(line: str) -> Callable[[int], bytes]:
    """An honest text of a size: one line again and again."""
    text = line.encode()
    return lambda size: (text * (size // len(text) + 1))[:max(size, len(text))]


# --- notebooks: an honest one with something odd put in some places of it ---

_LEAVES = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20),
                    st.sampled_from(["\ud83d", "%%chart q1-1", "q1-1-answer", "x" * 9_000]))
_ANY = st.recursive(_LEAVES, lambda inner: st.one_of(
    st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(
        ["cells", "source", "metadata", "nbgrader", "grade_id", "id", "cell_type"]), inner,
        max_size=4)), max_leaves=8)


@cache
def _places() -> tuple[tuple[Any, ...], ...]:
    found: list[tuple[Any, ...]] = []

    def walk(value: Any, path: tuple[Any, ...]) -> None:
        found.append(path)
        for key, inner in (value.items() if isinstance(value, dict) else
                           enumerate(value) if isinstance(value, list) else ()):
            walk(inner, (*path, key))
    walk(answered(released(SOURCE), RIGHT), ())
    return tuple(path for path in found if path)


@st.composite
def notebooks(draw: st.DrawFn) -> bytes:
    """An honest notebook changed in a few places, or grown, or cut off."""
    notebook: Any = copy.deepcopy(answered(released(SOURCE), RIGHT))
    for path in draw(st.lists(st.sampled_from(_places()), max_size=4)):
        place = notebook
        try:
            for key in path[:-1]:
                place = place[key]
            place[path[-1]] = draw(_ANY)
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took it away
    if isinstance(notebook.get("cells"), list) and draw(st.booleans()):
        text = draw(texts("%%chart q1-1\n", "pH: low\n", "signs: A, B", "expected PaCO2: 31"))
        grown = {"cell_type": "code", "metadata": {"nbgrader": {"grade_id": "q1-1-answer"}},
                 "source": text.decode("utf-8", "replace")}
        notebook["cells"][3:3] = [grown] * draw(st.sampled_from([1, 2, 20]))
    data = json.dumps(notebook).encode()
    return data[:draw(st.integers(0, len(data)))] if draw(st.integers(0, 9)) == 0 else data


def _honest_notebook(size: int) -> bytes:
    notebook = answered(released(SOURCE), RIGHT)
    filler = {"cell_type": "code", "metadata": {}, "source": "# my own note\n" * 60, "outputs": []}
    missing = size - len(json.dumps(notebook))
    notebook["cells"] += [filler] * max(0, missing // len(json.dumps(filler)))
    return json.dumps(notebook).encode()


# --- zips: an honest one with some bytes changed ---

@cache
def _small_zip() -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("u001 q.ipynb", b'{"a": 1}' * 20, zipfile.ZIP_DEFLATED)
        archive.writestr("ada2_quill/é.ipynb", b"{}" * 30)
        archive.writestr("__MACOSX/._u001.ipynb", b"x", zipfile.ZIP_BZIP2)
    return file.getvalue()


@st.composite
def zips(draw: st.DrawFn) -> bytes:
    """A small zip with bytes of it changed, cut out or put in."""
    data = bytearray(_small_zip())
    for _ in range(draw(st.integers(0, 6))):
        at = draw(st.integers(0, len(data)))
        data[at:at + draw(st.sampled_from([0, 1, 1, 1, 2, 4]))] = draw(st.one_of(
            st.binary(max_size=4),
            st.sampled_from([b"\xff\xff\xff\xff", b"\0\0", b"\x0e\0", b"PK"])))
    return bytes(data)


def _honest_zip(size: int) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("u001.ipynb", b"{}" * max(1, size // 2))
        for number in range(2, 5):
            archive.writestr(f"u{number:03d}.ipynb", b'{"a": 1}', zipfile.ZIP_DEFLATED)
    return file.getvalue()


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _read_zip(data: bytes, folder: Path) -> None:
    (folder / "b.zip").write_bytes(data)
    owners = Owners(CLASS, "small")
    with opened(folder / "b.zip", FileLimits(size=200_000)) as files:
        for one in files:
            assert printable(one.name) == one.name
            owners.of(one.name)
            if not one.why_not:
                with suppress(UnreadableNotebookError):
                    one.read()


@cache
def _school(folder: Path) -> CourseFolder:
    return CourseFolder.find(make_course(folder / "school", "small", small_source()))


def _take_in(data: bytes, folder: Path) -> None:
    (folder / "i.zip").write_bytes(data)
    school = _school(folder)
    done = take_in(school, "small", folder / "i.zip", CLASS, limits=FileLimits(size=200_000))
    for name in (*done.unmatched, *done.doubtful, *done.debris):
        assert printable(name) == name
    handed = school.root / school.steps["submitted"]
    assert {path.name for path in handed.glob("*")} <= {line.learner for line in CLASS}
    shutil.rmtree(handed, ignore_errors=True)


def _read_roster(data: bytes, folder: Path) -> None:
    (folder / "r.csv").write_bytes(data)
    lines = read_roster(folder / "r.csv")
    for line in lines[:3]:
        (folder / line.learner).mkdir(exist_ok=True)  # a folder can have that name
    Owners(lines).of("ada_quill u001.ipynb")


def _mark(data: bytes, folder: Path) -> None:
    done = mark_one(SOURCE, HandedIn("ada", data), FileLimits(), {})
    assert "The marker stopped" not in done.marked.why, done.marked.why
    done.text.encode()
    json.dumps([[r.sentence, r.cell] for r in done.marked.repairs], ensure_ascii=False).encode()
    done.marked.why.encode()
    assert len(done.text) < 10 * len(data) + 200_000


def _carry(data: bytes, folder: Path) -> None:
    carried = carry_over(data, RELEASE)
    if carried is not None:
        json.loads(carried.data)


def _stamp(data: bytes, folder: Path) -> None:
    (folder / "timestamp.txt").write_bytes(data)
    handed_in_at(folder)


def _first_try(data: bytes, folder: Path) -> None:
    text, place = _text(data), place_of("q1-1", 1)
    answer = read_answer(text, FIELDS, place)
    assert answer.values == parse_chart(text, FIELDS).values  # it is no part of the answer
    kept = with_reason(with_first_try(text, FIELDS, place), FIELDS, place, "as I saw it")
    assert read_answer(kept, FIELDS, place).values == answer.values
    without_first_try(kept, place)
    put_back(text, kept_lines(kept, place))


def _chart(data: bytes, folder: Path) -> None:
    answer = parse_chart(_text(data), FIELDS)
    told = sum(len(problem.sentence) for problem in answer.problems)
    assert told < 40_000, told


PLAN = ('id = "u"\ntitle = "A unit"\n[[question]]\nid = "q1-1"\nrecipe = "name_the_disorder"\n'
        'stem = "Read it."\nwishes = [{disorder = "metabolic acidosis"}]\n')
QUESTION = ("1. A gas shows pH 7.30, PaCO2 30, HCO3 14. Which disorder is it?\n"
            "A. Metabolic acidosis\nB. Respiratory acidosis\nC. Metabolic alkalosis\nAnswer: A\n\n")

READERS: dict[str, Reader] = {
    "chart": Reader(_chart, again("disorder: metabolic acidosis\nexpected PaCO2: 31 mmHg\n"
                                  "order: sit up > listen > call\nsigns: A, B\nanswer: B\n"),
                    texts("pH: ", "disorder: ", "answer: ", "signs: ", "order: ", "because: ",
                          "expected PaCO2: ", "A", "B or C", "31 mmHg", "sit up > ", "respiratory ",
                          "%%chart q1\n", "a:", "option ", " and ", "none")),
    "first try": Reader(_first_try, again("# first try (kept by the kit): 5f1c09\n# pH: low\n"
                                          "# how sure: sure\n# reason: both moved\npH: high\n"),
                        texts("# first try (kept by the kit): ", "# first try (kept by the kit)",
                              "5f1c09", "# ", "#", "pH: ", "how sure: ", "reason: ", "guess",
                              "check: now", "low", "disorder: ", "signs: A, B", "\n# pH: low\n")),
    "roster": Reader(_read_roster, again("id,first name,last name\n"),
                     texts("id,first name,last name\n", "id;name\n", "u001,Ada,Quill\n", "\ufeff",
                           '"', "student id\t", "..", "Points Possible", "=1+1"),
                     (IntakeError,)),
    "file name": Reader(lambda data, _: Owners(CLASS, "02_primary_disorder").of(_text(data)),
                        again("quill_ada1_u001_"),
                        texts("u001", "ada1", "quill", "_", "02_primary_disorder", ".ipynb", "/",
                              "u001u002", "adaquill")),
    "question file": Reader(lambda data, _: read_plan(_text(data), "x.toml"),
                            lambda size: (PLAN + "# a remark\n" * (size // 11)).encode(),
                            texts(*PLAN.splitlines(keepends=True), "[[question]]\n", '"""', "'''",
                                  "= [", "{", "wishes = [", "question = ", "title = ", "3\n",
                                  "[3]\n", "{}\n", '"x"\n', "[question]\n",
                                  "points = 1e999\n", "id = 3\n",
                                  "[a.b]\n"),
                            (UnitError,)),
    "questions by hand": Reader(lambda data, _: read_text(_text(data)), again(QUESTION),
                                texts(*QUESTION.splitlines(keepends=True), "*A. ", "Answer:",
                                      "question,answer,a,b\n", "|", "```", "a) ", "(b) ", "2) "),
                                (UnreadableError,)),
    "notebook": Reader(_mark, _honest_notebook, notebooks()),
    "older notebook": Reader(_carry, _honest_notebook, notebooks()),
    "zip": Reader(_read_zip, _honest_zip, zips(), (IntakeError,)),
    "intake": Reader(_take_in, _honest_zip, zips(), (IntakeError,)),
    "time stamp": Reader(_stamp, again("2031-03-01 09:30:00.000000 UTC\n"),
                         texts("2031-03-01", "09:30", "UTC", "Mar", "AM", "-23:59", "1e9", "T")),
}


def seconds(reader: Reader, data: bytes, folder: Path) -> float:
    """How long an input takes, by the processor; what the reader may refuse it with is no fault."""
    began = time.process_time()
    with suppress(*reader.refuses):
        reader.read(data, folder)
    return time.process_time() - began


@cache
def honest_seconds(name: str, size: int, folder: Path) -> float:
    """How long an honest input of a size takes."""
    reader = READERS[name]
    data = reader.honest(size)
    return min(seconds(reader, data, folder) for _ in range(3))


@dataclass
class Tally:
    """What was tried of one reader: how many inputs, and the dearest beside an honest one."""

    inputs: int = 0
    dearest: float = 0.0  # times an honest input of its size, after the grace


TALLIES: dict[str, Tally] = {}


def try_input(name: str, data: bytes, folder: Path) -> float:
    """Read an input: no crash, and no more than 20 times the time of an honest one of its size.

    Returns
    -------
    float
        How many times the honest time it took, beyond the grace.
    """
    reader = READERS[name]
    took = seconds(reader, data, folder)
    size = 1 << max(8, len(data).bit_length())
    honest = honest_seconds(name, size, folder)
    allowed = MOST * honest + GRACE
    if took > allowed / 2:  # a busy machine may have been elsewhere
        took = min(took, *(seconds(reader, data, folder) for _ in range(3)))
    times = max(0.0, took - GRACE) / honest
    tally = TALLIES.setdefault(name, Tally())
    tally.inputs, tally.dearest = tally.inputs + 1, max(tally.dearest, times)
    assert took <= allowed, (f"{name}: {len(data):,} bytes took {1000 * took:.1f} ms; an honest "
                             f"input of that size may take {1000 * allowed:.1f}")
    return times
