"""A unit's questions as an instructor writes them: a TOML file read into Questions."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any

from acidbase_lib.teaching.content import content, content_text
from acidbase_lib.teaching.whole_file import read_whole

from .exercise import Exercise
from .unmarked import read_unmarked

CANDIDATES = 10  # patients of one question, from which a form is chosen


class UnitError(ValueError):
    """A unit or its question file cannot be used; says which line of which question and why."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question as data: a recipe and what it is to be cooked with.

    Parameters
    ----------
    id : str
        Such as "q2-3".
    recipe : str
        A name in ``recipes.RECIPES``.
    points : float or None
        None lets the kind decide: one a part, one a right choice.
    stem : str
        Markdown; ``{patient}`` stands for the vignette.
    wishes : tuple of mapping
        What ``draw_case`` is asked for; a form draws one of them (or uses all, where the recipe
        shows several gases).
    more : mapping
        What else the recipe takes.
    variants : tuple of Question
        What a form may ask in its stead, worth as much; a lesson never does.
    origin : str
        The question that a form has put into this place; empty where it stands in its own.
    """

    id: str
    recipe: str
    points: float | None
    stem: str
    wishes: tuple[Mapping[str, Any], ...]
    more: Mapping[str, Any] = field(default_factory=dict)
    variants: tuple[Question, ...] = ()
    origin: str = ""


@dataclass(frozen=True, slots=True)
class UnitPlan:
    """A unit's title and questions, before any patient is drawn.

    `candidates` says from how many patients each question of a form is chosen; a `sitting` tells
    what is right only after it was handed in; `unmarked` is what a lesson asks beside its
    questions, for no points; `carried` is the text of a school's own questions, packed.
    """

    id: str
    title: str
    questions: tuple[Question, ...]
    practice: str | None = None
    candidates: int = CANDIDATES
    sitting: bool = False
    unmarked: tuple[Exercise, ...] = ()
    carried: str = ""


_NAME = re.compile(r"[A-Za-z0-9_-]{1,80}")
LONGEST = 1_000_000  # of a question file [characters]
BY_HAND = "written by hand"  # the recipe of a question that somebody wrote
_VERY_DEEP = re.compile(  # a.b.c: reading such a name takes square time
    r"""(?<![\w"'-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){20}""")
_OWN = {"id", "recipe", "points", "stem", "wishes", "variants"}


def read_plan(text: str, where: str) -> UnitPlan:
    """Read a unit's question file.

    Raises
    ------
    UnitError
        The file is not TOML, or a question lacks what it needs; names the file and question.
    """
    if len(text) > LONGEST or _VERY_DEEP.search(text):
        raise UnitError(f"{where} is not a question file: it is longer than {LONGEST:,} "
                        "characters, or a name in it has more than 20 parts.")
    try:
        table = tomllib.loads(text)
    except RecursionError:
        raise UnitError(f"{where} is not a question file: lists stand in one another too "
                        "deep.") from None
    except tomllib.TOMLDecodeError as error:
        raise UnitError(f"{where} is not a question file: {error}. A text needs quotation marks "
                        "around it, and a line `[[question]]` before each question.") from None
    for needed in ("id", "title", "question"):
        if needed not in table:
            raise UnitError(f"{where} has no {needed!r}.")
    for text_wanted in ("id", "title"):
        if not isinstance(table[text_wanted], str):
            raise UnitError(f"{where}: {text_wanted!r} is not a text.")
    if not _are_tables(table["question"]):
        raise UnitError(f"{where}: 'question' is no list of questions. Write a line "
                        "`[[question]]` before each.")
    questions = tuple(_question(entry, where) for entry in table["question"])
    ids = [question.id for question in questions]
    twice = sorted({i for i in ids if ids.count(i) > 1})
    if twice:
        raise UnitError(f"{where}: the question id {twice[0]!r} stands there twice.")
    candidates = table.get("candidates", CANDIDATES)
    if isinstance(candidates, bool) or not isinstance(candidates, int) or not 1 <= candidates <= 36:
        raise UnitError(f"{where}: candidates = {candidates!r} is outside 1 to 36.")
    sitting = table.get("sitting", False)
    if not isinstance(sitting, bool):
        raise UnitError(f"{where}: sitting = {sitting!r} is neither true nor false.")
    try:
        unmarked = tuple(read_unmarked(entry) for entry in table.get("unmarked", ()))
    except (ValueError, AttributeError, TypeError) as error:
        raise UnitError(f"{where}: {error}") from None
    return UnitPlan(table["id"], table["title"], questions, table.get("practice"), candidates,
                    sitting, unmarked)


def _question(entry: Mapping[str, Any], where: str) -> Question:
    name = entry.get("id", "a question without an id")
    for needed in ("id", "recipe", "stem"):
        if not isinstance(entry.get(needed), str):
            raise UnitError(f"{where}, {name}: {needed!r} is missing or is not a text.")
    points = entry.get("points")
    if points is not None and (isinstance(points, bool) or not isinstance(points, int | float)
                               or not 0 < points <= 100):
        raise UnitError(f"{where}, {name}: points = {points!r} is outside 0 to 100.")
    if not _are_tables(entry.get("wishes", [])):
        raise UnitError(f"{where}, {name}: 'wishes' is no list of tables, such as "
                        '[{disorder = "metabolic acidosis"}].')
    return Question(entry["id"], entry["recipe"], points, entry["stem"].strip(),
                    tuple(MappingProxyType(wish) for wish in entry.get("wishes", ())),
                    MappingProxyType({k: v for k, v in entry.items() if k not in _OWN}),
                    tuple(_question({k: v for k, v in entry.items() if k != "variants"} | variant,
                                    where) for variant in entry.get("variants", ())))


def _are_tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(one, dict) for one in value)


def unit_ids() -> tuple[str, ...]:
    """Return the units that came with the kit, in course order."""
    return _names_on(content("questions"))


def sitting_ids() -> tuple[str, ...]:
    """Return the sittings that stand beside the units: they are set by `acidbase form` alone."""
    return _names_on(content("questions", "sittings"))


def load_plan(unit_id: str, folder: Path | None = None) -> UnitPlan:
    """Find the question file of a unit or a sitting: in the kit, else beside the notebook.

    The kit's own are never replaced by a file that happens to lie beside a notebook: a
    learner could put one there.

    Raises
    ------
    UnitError
        No such unit.
    """
    for folder_names, names in ((("questions",), unit_ids()),
                                (("questions", "sittings"), sitting_ids())):
        if isinstance(unit_id, str) and unit_id in names:
            return read_plan(content_text(*folder_names, f"{unit_id}.toml"), f"{unit_id}.toml")
    beside = (folder or Path()) / f"{unit_id}.toml"
    if isinstance(unit_id, str) and _NAME.fullmatch(unit_id) and beside.is_file():
        return read_plan(_own_text(beside), str(beside))
    raise UnitError(f"There is no unit {str(unit_id)[:60]!r}. The units are: "
                    f"{', '.join(unit_ids())}. "
                    "A question file of your own lies beside the notebook and has its own name.")


def parts_of(taught_in: Mapping[str, str], dealt: bool) -> dict[str, str]:
    """The part of each question: its unit's title in a sitting laid out so, but the last."""
    asked = list(taught_in)
    for end in range(len(asked), int(0.8 * len(asked)), -1):
        units = [taught_in[question] for question in asked[:end]]
        parts = [min(units[place:]) for place in range(end)]
        astray = sum(unit != part for unit, part in zip(units, parts, strict=True))
        if astray <= 1 < len(set(parts)) and not dealt:
            return dict.fromkeys(asked, "Across the units") | {
                question: load_plan(part).title
                for question, part in zip(asked, parts, strict=False)}
    return dict.fromkeys(asked, "Questions")


def _own_text(path: Path) -> str:
    """The text of somebody's own file; some editors put an invisible mark before it."""
    data = read_whole(path, 4 * LONGEST)  # a letter takes up to four bytes
    if data is None:
        raise UnitError(f"{path} is not a question file: it is longer than {LONGEST:,} "
                        "characters.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnitError(f"{path} is not text in UTF-8: save it as plain text, UTF-8.") from None


def _names_on(shelf: Traversable) -> tuple[str, ...]:
    return tuple(sorted(path.name.removesuffix(".toml") for path in shelf.iterdir()
                        if path.name.endswith(".toml")))
