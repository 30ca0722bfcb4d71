"""A sentence of the kit, and those that its programs say: in ``worded`` and in ``inWords``."""
from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Final

from acidbase_lib.teaching.questions.exercise import RULES_IN_WORDS
from acidbase_lib.teaching.questions.which_try import SAID_BEFORE
from acidbase_lib.teaching.worded import key_of

SCRIPT: Final = "forms.js"
HOLE: Final = re.compile(r"<<[\w:]+>>|<!--=[\w:]*-->")
_BRACE: Final = re.compile(r"\{+(\w+)[^{}]*\}+")
_IN_A_SCRIPT: Final = re.compile(r'inWords\(\s*("(?:[^"\\]|\\.)*")')


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the kit: its key, its words, and whether it is a notebook's prose.

    `many` is what it says of other numbers than one, where it tells a number.
    """

    key: str
    text: str
    prose: bool = False
    many: str = ""

    @property
    def holes(self) -> frozenset[str]:
        """What is filled in: settings, and people's and patients' words."""
        return holes_of(self.text, self.prose)


def holes_of(text: str, prose: bool) -> frozenset[str]:
    """What is filled in where a text is shown; in a notebook a brace is a brace.

    Examples
    --------
    >>> sorted(holes_of("{They} has a <<hco3>> of {hco3}.", False))
    ['<<hco3>>', '{They}', '{hco3}']
    """
    braces = () if prose else (f"{{{word}}}" for word in _BRACE.findall(text))
    return frozenset((*HOLE.findall(text), *braces))


def of_programs() -> Iterator[Sentence]:
    """The sentences of the answer form and of the check, of Python and of the forms' scripts."""
    found: dict[str, Sentence] = {}
    for text in (*RULES_IN_WORDS.values(), *SAID_BEFORE.values()):
        found[key_of(text)] = Sentence(key_of(text), text)
    for file in _under(files("acidbase_lib").joinpath("teaching"), ".py"):
        for one in _in_python(file.read_text("utf-8")):
            found[one.key] = one
    for file in _under(files("acidbase_lib").joinpath("teaching", "widgets", "static"), ".js"):
        for literal in _IN_A_SCRIPT.findall(file.read_text("utf-8")):
            text = ast.literal_eval(literal)
            found[key_of(text, SCRIPT)] = Sentence(key_of(text, SCRIPT), text)
    yield from found.values()


def _in_python(source: str) -> Iterator[Sentence]:
    if "worded" not in source:
        return
    tree = ast.parse(source)
    named = {target.id: node.value.value for node in tree.body if isinstance(node, ast.Assign)
             and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
             for target in node.targets if isinstance(target, ast.Name)}
    for call in ast.walk(tree):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.args:
            texts = [_text(one, named) for one in call.args[:2]]
            if call.func.id == "worded" and texts[0]:
                yield Sentence(key_of(texts[0]), texts[0])
            elif call.func.id == "worded_many" and texts[0]:
                yield Sentence(key_of(texts[0]), texts[0], many=texts[1])


def _text(node: ast.expr, named: Mapping[str, str]) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    return named.get(node.id, "") if isinstance(node, ast.Name) else ""


def _under(folder: Traversable, ending: str) -> Iterator[Traversable]:
    for path in sorted(folder.iterdir(), key=lambda one: one.name):
        if path.is_dir():
            yield from _under(path, ending)
        elif path.name.endswith(ending):
            yield path
