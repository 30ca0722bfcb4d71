"""Every sentence of the kit that a school may put in words of its own, by its key."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.resources.abc import Traversable
from typing import Final

import nbformat

from acidbase_lib.classroom.released_course import course_folder, template_of, unit_ids_of
from acidbase_lib.teaching.content import content
from acidbase_lib.teaching.laid_over import each_text

from .said import HOLE, Sentence, of_programs

#: The keys of each file of content whose texts are shown; those of lists and tables hold what is in
#: them. All else is a name that programs read.
_PLACES: Final = {
    "facts.toml": "asks because holds text why",
    "glossary.toml": "full says",
    "misconceptions.toml": "card suggests",
    "patients/bedside_people.toml": "says wards awake any alone",
    "patients/bedside_states.toml": "because text why earlier_when seen_when",
    "patients/causes.toml": "because signs story text ward",
    "patients/scenes_practice.toml": "says text why",
    "questions": "title stem patient ticks bedside model_call looks notes options reasons why "
                 "why_reasons told text ward unmarked.asks boxes.says",
    "vignettes": "certain text ward",
}
_OF_A_PLACE: Final = {name: frozenset(keys.split()) for name, keys in _PLACES.items()}
#: Words that a translation may leave out: its language may have no use for them.
FREE: Final = frozenset(word for one in ("they", "them", "their", "was", "is", "has", "first")
                        for word in (one, one.capitalize()))
_TAG: Final = re.compile(r"</?[a-z][\w-]*")


def tags_of(text: str) -> frozenset[str]:
    """The signs of a web page in a text."""
    return frozenset(_TAG.findall(HOLE.sub("", text)))


@cache
def sentences() -> tuple[Sentence, ...]:
    """Every sentence by its key: those of ``content``, then the prose of the notebooks."""
    return (*_sentences(), *of_programs())


def _sentences() -> Iterator[Sentence]:
    for name, file in _files():
        found: list[Sentence] = []

        def take(path: str, text: str, name: str = name,
                 found: list[Sentence] = found) -> str:
            if text.strip() and _is_shown(name, path):
                found.append(Sentence(f"{name}#{path}", text))
            return text

        each_text(tomllib.loads(file.read_text("utf-8")), take)
        yield from found
    for unit in unit_ids_of(course_folder()):
        for cell in nbformat.read(template_of(unit), as_version=4).cells:
            name = cell.metadata.get("nbgrader", {}).get("grade_id", "")
            if cell.cell_type == "markdown" and is_prose(name):
                yield Sentence(prose_key(unit, name), cell.source, prose=True)


def is_prose(grade_id: str) -> bool:
    """Whether a notebook's cell is prose of its own, not drawn and not made of the glossary."""
    return bool(grade_id) and not grade_id.endswith(("-prompt", "-short-forms"))


def prose_key(unit: str, grade_id: str) -> str:
    """The key of a notebook's cell.

    Examples
    --------
    >>> prose_key("01_ranges", "01-ph")
    'lessons/01_ranges#01-ph'
    """
    return f"lessons/{unit}#{grade_id}"


def _files() -> Iterator[tuple[str, Traversable]]:
    for folder in ("", "patients", "questions", "questions/sittings"):
        place = content(*folder.split("/")) if folder else content()
        for file in sorted(place.iterdir(), key=lambda one: one.name):
            if file.name.endswith(".toml"):
                yield f"{folder}/{file.name}".lstrip("/"), file


def _is_shown(name: str, path: str) -> bool:
    place = ("questions" if name.startswith("questions/") else
             "vignettes" if "/vignettes" in name else name)
    keys = _OF_A_PLACE.get(place, frozenset())
    parts = [part for part in path.split(".") if not part.isdigit()]
    return parts[-1] in keys or ".".join(parts[:1] + parts[-1:]) in keys or (
        len(parts) > 1 and (parts[-2] in keys or ".".join(parts[-2:]) in keys))
