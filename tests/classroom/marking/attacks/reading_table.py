"""Hostile and broken submissions to the small unit: how each is made and what must come of it."""
from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from handing_in import Notebook, answered, find

Made = Notebook | bytes
FULL = 10.0  # of 12: the rationale's two points wait for a person
MARKED, REPAIRED, NOT = "marked", "marked after repair", "not marked"

# What every piece of hostile code would do first, were it ever run.
HARM = ("import os, builtins\nos.environ['ACIDBASE_HARMED'] = '1'\nbuiltins.harmed = True\n"
        "open('harmed', 'w').close()\n")


@dataclass(frozen=True)
class Attack:
    """One submission: made from an untouched release or from one with every answer right."""

    group: str
    name: str
    make: Callable[[Notebook, Notebook], Made]
    state: str
    score: float | None
    says: str = ""


def own_cell(code: str) -> Callable[[Notebook, Notebook], Made]:
    """The code in a cell of the learner's own, before everything else."""
    def make(blank: Notebook, right: Notebook) -> Made:
        blank["cells"].insert(0, {"cell_type": "code", "id": "own", "metadata": {}, "outputs": [],
                                  "execution_count": None, "source": HARM + code})
        return blank
    return make


def in_place_of(name: str, code: str) -> Callable[[Notebook, Notebook], Made]:
    """The code in place of one of the unit's own cells."""
    def make(blank: Notebook, right: Notebook) -> Made:
        find(blank, name)["source"] = HARM + code
        return blank
    return make


def answer(question: str, lines: str) -> Callable[[Notebook, Notebook], Made]:
    """One chart cell filled in, the others blank."""
    return lambda blank, right: answered(blank, {question: f"%%chart {question}\n{lines}"})


def changed(change: Callable[[Notebook], object], *, of: str = "right",
            ) -> Callable[[Notebook, Notebook], Made]:
    """A submission after something was done to it."""
    def make(blank: Notebook, right: Notebook) -> Made:
        notebook = right if of == "right" else blank
        change(notebook)
        return notebook
    return make


def raw(data: Callable[[bytes], bytes]) -> Callable[[Notebook, Notebook], Made]:
    """A file made from the right one's bytes."""
    return lambda blank, right: data(json.dumps(right).encode())


def told(notebook: Notebook, name: str) -> dict[str, object]:
    """The nbgrader metadata of a cell."""
    return find(notebook, name)["metadata"]["nbgrader"]


def all_metadata(notebook: Notebook, value: object) -> None:
    """Put the same thing in place of every cell's nbgrader metadata."""
    for cell in notebook["cells"]:
        cell["metadata"]["nbgrader"] = copy.deepcopy(value)


def with_outputs(notebook: Notebook, name: str, record: object) -> None:
    """Outputs that a learner wrote into the file by hand."""
    find(notebook, name)["outputs"] = [
        {"output_type": "execute_result", "execution_count": 1, "metadata": {},
         "data": {"text/plain": "3.0", "application/vnd.acidbase.mark+json": record}}]


def copies(notebook: Notebook, name: str, times: int, text: str | None = None) -> None:
    """Copies of one cell at the notebook's end."""
    for number in range(times):
        twin = copy.deepcopy(find(notebook, name)) | {"id": f"copy-{number}"}
        notebook["cells"].append(twin | ({} if text is None else {"source": text}))


def bonus_cell(notebook: Notebook, name: str, points: float) -> None:
    """A graded cell of the learner's own invention."""
    notebook["cells"].append({
        "cell_type": "code", "id": "bonus", "outputs": [], "execution_count": None,
        "source": str(points), "metadata": {"nbgrader": {
            "grade": True, "grade_id": name, "locked": True, "points": points,
            "schema_version": 3, "solution": False, "task": False}}})


CODE = [
    ("an endless loop", "while True: pass"),
    ("a fork bomb", "while True: os.fork()"),
    ("a memory bomb", "x = []\nwhile True: x.append(bytearray(10**9))"),
    ("a flood of output", "while True: print('x' * 10**6)"),
    ("a call over the network", "import urllib.request as u; u.urlopen('http://192.0.2.1/')"),
    ("reading the gradebook", "import sqlite3; sqlite3.connect('grading/gradebook.db')"),
    ("reading the keys", "print(open('solutions/small/small.ipynb').read())"),
    ("reading other submissions", "print(os.listdir('grading/submitted'))"),
    ("reading the hidden tests", "get_ipython().history_manager.input_hist_raw"),
    ("writing outside", "open('/tmp/acidbase-harmed', 'w').write('x')"),
    ("killing the marker", "os.kill(os.getpid(), 9); os.kill(os.getppid(), 9)"),
    ("patching the library", "from acidbase_lib.teaching.unit import Unit\n"
                             "Unit.mark = lambda *a, **k: 3.0"),
    ("patching builtins", "builtins.float = builtins.isinstance = lambda *a: True"),
    ("objects equal to everything",
     "class E:\n  def __eq__(s, o): return True\nunit._answers = E()"),
    ("leaving Python", "raise SystemExit"),
    ("a shell command", "get_ipython().system('touch harmed')"),
]


def _attacks() -> Iterator[Attack]:
    for name, code in CODE:
        yield Attack("code", f"{name}, in a cell of one's own", own_cell(code), MARKED, 0.0)
    for name, code in CODE[:2] + CODE[4:6] + CODE[10:14]:
        yield Attack("code", f"{name}, in the setup cell", in_place_of("01-setup", code), REPAIRED,
                     0.0, "01-setup was changed")
    yield Attack("code", "code in a check cell", in_place_of("q1-1-check", "3.0"), REPAIRED, 0.0,
                 "q1-1-check was changed")
    yield Attack("code", "code in a chart cell", in_place_of("q1-1-answer", "while True: pass"),
                 REPAIRED, 0.0, "first line")
    yield Attack("code", "code below a chart's first line",
                 answer("q1-1", "pH: low\n" + HARM + "pH = 'low'"), MARKED, 1.0)
    yield Attack("code", "a second magic in a chart", answer("q1-2", "%%bash\ntouch harmed"),
                 MARKED, 0.0)
    yield Attack("code", "a template in an answer",
                 answer("q1-6", "because: {{ ''.__class__ }} {% for x in y %} ${7*7} %s %(a)s"),
                 MARKED, 0.0)

    yield Attack("points", "points raised in the metadata",
                 changed(lambda nb: told(nb, "q1-1-check").update(points=300)), REPAIRED, FULL)
    yield Attack("points", "points turned negative",
                 changed(lambda nb: told(nb, "q1-1-check").update(points=-3)), REPAIRED, FULL)
    yield Attack("points", "points that are text",
                 changed(lambda nb: told(nb, "q1-1-check").update(points="1e9")), REPAIRED, FULL)
    yield Attack("points", "a test that gives all points",
                 changed(lambda nb: find(nb, "q1-1-check").update(source="3.0"), of="blank"),
                 REPAIRED, 0.0, "q1-1-check was changed")
    yield Attack("points", "a test that gives more than all",
                 changed(lambda nb: find(nb, "q1-1-check").update(source="99.0"), of="blank"),
                 REPAIRED, 0.0)
    yield Attack("points", "a test emptied",
                 changed(lambda nb: find(nb, "q1-1-check").update(source=""), of="blank"),
                 REPAIRED, 0.0)
    yield Attack("points", "outputs written by hand",
                 changed(lambda nb: with_outputs(nb, "q1-1-check", {}), of="blank"), MARKED, 0.0)
    yield Attack("points", "a mark's record written by hand", changed(
        lambda nb: with_outputs(nb, "q1-1-answer", {"question": "q1-1", "points": 3.0,
                                                    "maximum": 3.0, "state": "answered",
                                                    "parts": []}), of="blank"), MARKED, 0.0)
    yield Attack("points", "a graded cell of one's own",
                 changed(lambda nb: bonus_cell(nb, "bonus", 100.0), of="blank"), REPAIRED, 0.0)
    yield Attack("points", "a second, dearer check",
                 changed(lambda nb: bonus_cell(nb, "q1-1-check", 100.0), of="blank"), REPAIRED, 0.0)
    yield Attack("points", "an answer cell that is graded", changed(
        lambda nb: told(nb, "q1-1-answer").update(grade=True, points=50.0), of="blank"),
        MARKED, 0.0)
    yield Attack("points", "a check cell that is an answer", changed(
        lambda nb: told(nb, "q1-1-check").update(solution=True, locked=False), of="blank"),
        MARKED, 0.0)
    yield Attack("points", "our own note on state forged", changed(
        lambda nb: nb["metadata"].update(acidbase={"state": "marked", "repairs": [["x"]],
                                                   "score": 12}), of="blank"), MARKED, 0.0)

    yield Attack("cells", "metadata stripped", changed(
        lambda nb: [c.update(metadata={}) or c.pop("id") for c in nb["cells"]]), REPAIRED, FULL)
    for what, value in (("of a later version", {"schema_version": 99, "grade_id": "q1-1-answer"}),
                        ("of the first version", {"schema_version": 1, "grade_id": "x"}),
                        ("that is a list", [1, 2]), ("that is text", "grade: all"),
                        ("with a grade id that is a number", {"grade_id": 7, "grade": True}),
                        ("with a path for a grade id", {"grade_id": "../../q1-1-answer"})):
        yield Attack("cells", f"metadata {what}",
                     changed(lambda nb, value=value: all_metadata(nb, value)), REPAIRED, FULL)
    yield Attack("cells", "metadata that is no table", changed(
        lambda nb: [c.update(metadata=None) for c in nb["cells"]]), REPAIRED, FULL)
    yield Attack("cells", "a copied answer", changed(lambda nb: copies(nb, "q1-1-answer", 1)),
                 REPAIRED, FULL, "all alike")
    yield Attack("cells", "a hundred tries in copies", changed(
        lambda nb: [copies(nb, "q1-2-answer", 1, f"%%chart q1-2\nanswer: {'ABC'[n % 3]}")
                    for n in range(100)], of="blank"), REPAIRED, 0.0)
    yield Attack("cells", "a copied check", changed(lambda nb: copies(nb, "q1-1-check", 3)),
                 REPAIRED, FULL)
    yield Attack("cells", "a missing answer", changed(
        lambda nb: nb["cells"].remove(find(nb, "q1-1-answer"))), REPAIRED, FULL - 3, "missing")
    yield Attack("cells", "a missing check", changed(
        lambda nb: nb["cells"].remove(find(nb, "q1-1-check"))), REPAIRED, FULL, "put back")
    yield Attack("cells", "nothing left but the answers", changed(
        lambda nb: nb.update(cells=[c for c in nb["cells"] if "-answer" in str(c)])),
        REPAIRED, FULL)
    yield Attack("cells", "everything in reverse", changed(lambda nb: nb["cells"].reverse()),
                 REPAIRED, FULL, "out of order")
    yield Attack("cells", "cells that are no cells", changed(
        lambda nb: nb["cells"].extend([None, 7, "x", [], {}, {"source": {}},
                                       {"source": [1]}])), REPAIRED, FULL)
    yield Attack("cells", "one chart in another's cell", changed(
        lambda nb: find(nb, "q1-1-answer").update(source="%%chart q1-2\nanswer: B"), of="blank"),
        REPAIRED, 1.0)
    yield Attack("cells", "a path for a question", changed(
        lambda nb: copies(nb, "q1-1-answer", 1, "%%chart ../../q1-1\npH: low"), of="blank"),
        REPAIRED, 0.0, "does not have")
    yield Attack("cells", "another assignment's notebook", changed(
        lambda nb: nb.update(cells=[{"cell_type": "code", "metadata": {}, "outputs": [],
                                     "source": "%%chart q9-9\npH: low"}])), NOT, None,
        "another notebook")

    big = b'{"cells": [], "nbformat": 4, "metadata": {"x": "' + b"x" * 3_000_000 + b'"}}'
    yield Attack("file", "a huge file", raw(lambda data: big), NOT, None, "MB")
    yield Attack("file", "a hundred thousand cells", raw(
        lambda data: json.dumps({"cells": [{}] * 100_000, "nbformat": 4}).encode()), NOT, None,
        "cells")
    yield Attack("file", "JSON a million deep", raw(lambda data: b"[" * 1_000_000), NOT, None,
                 "deep")
    yield Attack("file", "metadata a million deep", raw(
        lambda data: b'{"cells": [], "nbformat": 4, "metadata": ' + b'{"a":' * 300_000), NOT, None,
        "deep")
    yield Attack("file", "bytes that are no UTF-8", raw(lambda data: data[:99] + b"\xff\xfe\x80"),
                 NOT, None, "UTF-8")
    yield Attack("file", "UTF-16", raw(lambda data: data.decode().encode("utf-16")), NOT, None,
                 "UTF-8")
    yield Attack("file", "a byte order mark", raw(lambda data: b"\xef\xbb\xbf" + data), MARKED,
                 FULL)
    yield Attack("file", "an empty file", raw(lambda data: b" \n"), NOT, None, "empty")
    yield Attack("file", "a file cut off", raw(lambda data: data[:len(data) // 2]), NOT, None,
                 "cut off")
    yield Attack("file", "a web page", raw(lambda data: b"<!DOCTYPE html><script>alert(1)"), NOT,
                 None, "web page")
    yield Attack("file", "a zip in a notebook's name", raw(lambda data: b"PK\x03\x04\x99\xff"), NOT,
                 None, "zip")
    yield Attack("file", "JSON that is no notebook", raw(lambda data: b"[1, 2]"), NOT, None,
                 "not a notebook")
    yield Attack("file", "cells that are no list", raw(
        lambda data: b'{"cells": {"a": 1}, "nbformat": 4}'), NOT, None, "no list of cells")
    yield Attack("file", "a notebook of format 3", raw(
        lambda data: b'{"worksheets": [], "nbformat": 3, "cells": {}}'), NOT, None, "format 3")
    yield Attack("file", "a number of ten thousand digits", raw(
        lambda data: b'{"nbformat": 4, "cells": [], "metadata": ' + b"9" * 10_000 + b"}"), NOT,
        None, "not JSON")
    yield Attack("file", "NaN and Infinity in the JSON", raw(
        lambda data: data.replace(b'"nbformat_minor": 5', b'"nbformat_minor": NaN, "x": Infinity')),
        MARKED, FULL)
    yield Attack("file", "a kernel that is not there", changed(
        lambda nb: nb["metadata"].update(kernelspec={"name": "/bin/sh", "language": "bash",
                                                     "argv": ["rm", "-rf", "/"]})), MARKED, FULL)
    yield Attack("file", "another language", changed(
        lambda nb: nb["metadata"].update(kernelspec={"name": "ir", "language": "R"},
                                         language_info={"name": "R"})), MARKED, FULL)

    yield Attack("answer", "script in an answer", answer(
        "q1-1", "pH: <script>alert(1)</script>\nbicarbonate: <img src=x onerror=alert(1)>"),
        MARKED, 0.0)
    yield Attack("answer", "HTML in a rationale", answer(
        "q1-6", 'because: </li></section><script src="//192.0.2.1/x.js"></script>'
        '<a href="javascript:alert(1)">x</a><svg onload=alert(1)>'), MARKED, 0.0)
    yield Attack("answer", "lookalike letters", answer(
        "q1-1", "pH: l\u043ew\nbicarbonate: h\u0456gh\ndisorder: respiratory acid\u043esis"),
        MARKED, 0.0)
    yield Attack("answer", "letters nobody sees", answer(
        "q1-2", "answer: \u202eB\u200b\u2066\u2069"), MARKED, 0.0)
    yield Attack("answer", "a number as text", answer("q1-5", "expected PaCO2: thirty"), MARKED,
                 0.0)
    for what in ("inf", "-inf", "nan", "1e999", "9" * 5_000, "1e-999", "-30", "0x1e", "30+0",
                 "3e1e1", "30;31;32", "30 or 45", "28-60"):
        yield Attack("answer", f"the number {what[:12]}", answer(
            "q1-5", f"expected PaCO2: {what}"), MARKED, 0.0)
    yield Attack("answer", "everything selected", answer(
        "q1-3", "signs: drowsiness, tingling fingers, flushed skin, muscle cramps"), MARKED, 0.0)
    yield Attack("answer", "one sign a hundred times", answer(
        "q1-3", "signs: " + ", ".join(["drowsiness"] * 100)), MARKED, 1.0)
    yield Attack("answer", "every choice at once", answer("q1-2", "answer: A B C"), MARKED, 0.0)
    yield Attack("answer", "every choice in a list", answer("q1-2", "answer: A, B, C"), MARKED, 0.0)
    yield Attack("answer", "every choice on its own line", answer(
        "q1-2", "answer: A\nanswer: B\nanswer: C"), MARKED, 0.0)
    yield Attack("answer", "a step given twice", answer(
        "q1-4", "steps: pH > pH > pH > pH"), MARKED, 0.0)
    yield Attack("answer", "an answer as long as a book", answer(
        "q1-6", "because: " + "x" * 100_000), REPAIRED, 0.0, "the first 20,000 were read")
    yield Attack("answer", "ten thousand lines", answer(
        "q1-1", "pH: high\n" * 2_000), MARKED, 0.0)
    yield Attack("answer", "NUL and half letters", answer(
        "q1-6", "because: \x00\ud800\x1b[31m"), MARKED, 0.0)
    yield Attack("answer", "a formula for a spreadsheet", answer(
        "q1-6", "because: =HYPERLINK(\"http://192.0.2.1\")"), MARKED, 0.0)


ATTACKS = tuple(_attacks())
