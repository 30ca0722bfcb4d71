"""First tries as a slip of the hand, a tool or a cheat may leave them: in a cell, in a notebook."""
from __future__ import annotations

import copy
import hashlib
from collections.abc import Callable, Mapping
from types import MappingProxyType

from full_unit import EXERCISES
from handing_in import Notebook, find

from acidbase_lib.teaching.questions.first_try import place_of, with_first_try

FIELDS = {exercise.id: exercise.fields for exercise in EXERCISES}
QUESTION, OTHER = "q1-1", "q1-7"  # three points each, a point a line
RIGHT = {QUESTION: "pH: low\nbicarbonate: high\ndisorder: respiratory acidosis",
         OTHER: "bed 1: low\nbed 2: normal\nbed 3: high"}
WRONG = {QUESTION: "pH: high\nbicarbonate: low\ndisorder: metabolic alkalosis",
         OTHER: "bed 1: high\nbed 2: low\nbed 3: normal"}
FULL, HALF, NOTHING = 3.0, 1.5, 0.0
#: what an answer earns: all where it is its own first try, half where it was mended


def block(question: str, answer: str, form: int = 1) -> str:
    """The lines that the kit writes for a first try."""
    before = f"%%chart {question}\n{answer}\nhow sure: sure"
    return with_first_try(before, FIELDS[question], place_of(question, form)).removeprefix(before)


def sealed_by_hand(question: str, answer: str) -> str:
    """The same, as anybody can work it out with the seal's own recipe."""
    lines = [f"1/{question}", *answer.split("\n")]
    seal = hashlib.sha256("".join(f"{line}\n" for line in lines).encode()).hexdigest()[:6]
    return f"\n# first try (kept by the kit): {seal}\n" + "\n".join(
        f"# {line}" for line in answer.split("\n"))


def mended(question: str) -> str:
    """Wrong first, right at the last."""
    return f"%%chart {question}\n{RIGHT[question]}{block(question, WRONG[question])}"


def _q(text: str) -> str:
    """The same for the question that is attacked."""
    return f"%%chart {QUESTION}\n{text}"


_WRONG_FIRST, _RIGHT_FIRST = block(QUESTION, WRONG[QUESTION]), block(QUESTION, RIGHT[QUESTION])
_SURE = "\nhow sure: sure"

#: What the cell of the question says, and what it earns with half for what was mended.
CELLS: Mapping[str, tuple[str, float]] = MappingProxyType({
    "as the kit leaves it": (mended(QUESTION), HALF),
    "its block moved above the answer": (_q(_WRONG_FIRST.lstrip() + "\n" + RIGHT[QUESTION]), HALF),
    "its block in the middle": (_q(RIGHT[QUESTION].replace(
        "\nbicarbonate", f"{_WRONG_FIRST}\nbicarbonate", 1)), HALF),
    "two blocks, a right one of one's own behind": (mended(QUESTION) + _RIGHT_FIRST, HALF),
    "two blocks, a right one of one's own before": (
        _q(RIGHT[QUESTION] + _RIGHT_FIRST + _WRONG_FIRST), HALF),
    "two blocks, one of them sealed by hand": (
        mended(QUESTION) + sealed_by_hand(QUESTION, RIGHT[QUESTION]), HALF),
    "the block of another question": (_q(RIGHT[QUESTION] + block(OTHER, RIGHT[OTHER])), HALF),
    "the block of another form": (
        _q(RIGHT[QUESTION] + block(QUESTION, RIGHT[QUESTION], form=2)), HALF),
    "words of the block made right": (_q(RIGHT[QUESTION] + _WRONG_FIRST.replace(
        "# pH: high", "# pH: low")), HALF),
    "a right block below a wrong answer": (_q(WRONG[QUESTION] + _RIGHT_FIRST), FULL),
    "a right block that was forged, below a wrong answer": (_q(
        WRONG[QUESTION] + _RIGHT_FIRST.replace("kit): ", "kit): 0")), NOTHING),
    "the block without its signs": (_q(  # its lines are the answer then, and the last ones count
        RIGHT[QUESTION] + _WRONG_FIRST.replace("# ", "")), NOTHING),
    "signs doubled": (_q(RIGHT[QUESTION] + _WRONG_FIRST.replace("# ", "# # ")), FULL),
    "a title and nothing below": (_q(RIGHT[QUESTION] + "\n# first try (kept by the kit):"), HALF),
    "a title with a seal that is no seal": (_q(
        RIGHT[QUESTION] + "\n# first try (kept by the kit): \u0967\u0968 %s {0} \\x00"), HALF),
    "a thousand titles": (_q(RIGHT[QUESTION] + "\n# first try (kept by the kit): 0" * 1_000), HALF),
    "a magic inside the block": (mended(QUESTION) + "\n# %%chart q1-7\n# !touch ran.txt", HALF),
    "only the block is left": (_q(_RIGHT_FIRST.lstrip()), FULL),
    "only a wrong block is left": (_q(_WRONG_FIRST.lstrip()), NOTHING),
    "ends of lines of an old system": (mended(QUESTION).replace("\n", "\r\n"), HALF),
    "spaces put before and behind": ("\n".join(
        f"{'' if n == 0 else '  '}{line}  " for n, line in enumerate(mended(QUESTION).split("\n"))),
        HALF),
    "emptied": ("", NOTHING),
    "its first line gone": (mended(QUESTION).partition("\n")[2], HALF),
})


def _another(notebook: Notebook, text: str, at: int, name: str = "") -> None:
    cell = copy.deepcopy(find(notebook, f"{QUESTION}-answer"))
    cell |= {"source": text, "id": f"another-{at}-{name}"}
    if not name:
        cell["metadata"] = {}
    notebook["cells"].insert(at if at >= 0 else len(notebook["cells"]), cell)


def _place(notebook: Notebook) -> int:
    return notebook["cells"].index(find(notebook, f"{QUESTION}-answer"))


def _moved(notebook: Notebook, at: int) -> None:
    cell = find(notebook, f"{QUESTION}-answer")
    notebook["cells"].remove(cell)
    notebook["cells"].insert(at if at >= 0 else len(notebook["cells"]), cell)


def _as(notebook: Notebook, kind: str) -> None:
    cell = find(notebook, f"{QUESTION}-answer")
    cell["cell_type"] = kind
    cell.pop("outputs", None)
    cell.pop("execution_count", None)


def _swapped(notebook: Notebook) -> None:
    """The texts of two answer cells change places, first lines and all."""
    one, other = (find(notebook, f"{name}-answer") for name in (QUESTION, OTHER))
    one["source"], other["source"] = other["source"], one["source"]


def _block_elsewhere(notebook: Notebook, name: str) -> None:
    find(notebook, f"{QUESTION}-answer")["source"] = _q(RIGHT[QUESTION])
    find(notebook, name)["source"] += _WRONG_FIRST


#: What is done to a notebook whose question was mended, and what the question earns then.
NOTEBOOKS: Mapping[str, tuple[Callable[[Notebook], None], float]] = MappingProxyType({
    "its cell twice alike": (
        lambda nb: _another(nb, mended(QUESTION), -1, f"{QUESTION}-answer"), HALF),
    "a copy of it, right and with no block, far below": (
        lambda nb: _another(nb, _q(RIGHT[QUESTION]), -1), HALF),
    "a copy of it, right and with no block, just below": (
        lambda nb: _another(nb, _q(RIGHT[QUESTION]), _place(nb) + 1), HALF),
    "a copy of it, right and with no block, just above": (
        lambda nb: _another(nb, _q(RIGHT[QUESTION]), _place(nb)), HALF),
    "its cell twice, the second right and with no block": (
        lambda nb: _another(nb, _q(RIGHT[QUESTION]), _place(nb) + 1, f"{QUESTION}-answer"), HALF),
    "its cell twice, the first right and with no block": (
        lambda nb: _another(nb, _q(RIGHT[QUESTION]), _place(nb), f"{QUESTION}-answer"), HALF),
    "its cell at the very top": (lambda nb: _moved(nb, 0), HALF),
    "its cell at the very end": (lambda nb: _moved(nb, -1), HALF),
    "its cell a raw one": (lambda nb: _as(nb, "raw"), HALF),
    "its cell a text": (lambda nb: _as(nb, "markdown"), HALF),
    "two answers swapped": (_swapped, HALF),
    "the block in the check cell": (lambda nb: _block_elsewhere(nb, f"{QUESTION}-check"), FULL),
    "the block in the question's text": (
        lambda nb: _block_elsewhere(nb, f"{QUESTION}-prompt"), FULL),
})
