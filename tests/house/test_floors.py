"""Imports run downward only, between floors and between rooms; a table says which may use which."""
from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest
from for_each import for_each

pytestmark = pytest.mark.slow

LIBRARY = Path(__file__).parents[2] / "acidbase_lib"
FLOORS = ("physiology", "reading", "teaching", "classroom")  # from the ground up
FILES = sorted(path for floor in FLOORS for path in (LIBRARY / floor).rglob("*.py"))
MODULES_IN_A_ROOM = 20
LEARNER_FLOORS = ("physiology", "reading", "teaching")
HEAVY = {"numpy", "pandas", "matplotlib", "nbgrader", "nbformat", "nbconvert", "jinja2", "rich",
         "scipy", "sqlalchemy"}
HEAVY_ALLOWED = "reading/tables/"

# Room: the rooms of its own floor that it may use; every floor below is open to all.
# A floor's modules that stand in no folder are its `ground`, but for those named as its top.
TOPS = {"reading/findings", "reading/interpretation", "reading/strike_out", "teaching/unit",
        "teaching/result_page", "teaching/review", "classroom/nbgrader_parts"}
MAY_USE: dict[str, str] = {
    "physiology": "",
    "reading": "",
    "reading/whom": "reading",
    "reading/judging": "reading whom",
    "reading/oxygenation": "reading whom judging",
    "reading/findings": "reading judging oxygenation",
    "reading/concerns": "reading whom judging oxygenation findings",
    "reading/priority": "reading judging oxygenation findings concerns",
    "reading/telling": "reading whom judging oxygenation findings concerns priority",
    "reading/interpretation": "reading whom judging findings priority telling",
    "reading/strike_out": "reading interpretation",
    "reading/tables": "reading whom judging oxygenation priority",
    "teaching": "",
    "teaching/questions": "teaching",
    "teaching/patients": "teaching questions",
    "teaching/misconceptions": "teaching patients",
    "teaching/explanations": "teaching misconceptions",
    "teaching/feedback": "teaching questions patients misconceptions explanations",
    "teaching/recipes": "teaching questions patients misconceptions explanations feedback "
                        "own_questions",
    "teaching/own_questions": "teaching questions patients misconceptions explanations feedback "
                              "handwritten",
    "teaching/widgets": "teaching questions feedback",
    "teaching/explorers": "teaching explanations widgets",
    "teaching/pictures": "teaching explorers",
    "teaching/memory": "teaching",
    "teaching/practice": "teaching memory patients misconceptions explanations feedback recipes "
                         "widgets",
    "teaching/hour": "teaching questions memory patients misconceptions feedback explorers "
                     "practice",
    "teaching/lesson": "teaching questions patients misconceptions explanations feedback recipes "
                       "widgets",
    "teaching/handwritten": "",
    "teaching/question_check": "teaching questions misconceptions handwritten",
    "teaching/result_page": "teaching questions misconceptions feedback",
    "teaching/review": "teaching questions misconceptions feedback",
    "teaching/unit": "teaching questions misconceptions feedback recipes widgets practice "
                     "hour lesson result_page review own_questions",
    "teaching/home": "teaching questions memory practice hour widgets unit own_questions",
    "classroom": "",
    "classroom/notebooks": "classroom",
    "classroom/marking": "classroom notebooks",
    "classroom/gradebook": "classroom notebooks marking",
    "classroom/nbgrader_parts": "classroom notebooks marking gradebook",
    "classroom/diagnosis": "",
    "classroom/report": "classroom notebooks marking gradebook diagnosis exports",
    "classroom/research": "classroom gradebook report",
    "classroom/term": "classroom notebooks gradebook diagnosis report",
    "classroom/desk": "classroom notebooks gradebook report school",
    "classroom/exports": "classroom",
    "classroom/site": "classroom notebooks",
    "classroom/lti": "classroom notebooks marking gradebook",
    "classroom/hub": "classroom notebooks lti",
    "classroom/commands": "classroom notebooks marking gradebook diagnosis report term desk "
                          "exports site lti hub school research question_desk",
    "classroom/school": "classroom",
    "classroom/question_desk": "classroom notebooks desk school",
}

EACH_FILE = for_each(FILES, named=lambda p: str(p.relative_to(LIBRARY)))


def floor_of(path: Path) -> str:
    return path.relative_to(LIBRARY).parts[0]


def room_of(path: Path) -> str:
    """The room of a file, as the table names it."""
    parts = path.relative_to(LIBRARY).parts
    if len(parts) > 2:
        return "/".join(parts[:2])
    alone = f"{parts[0]}/{path.stem}"
    return alone if alone in TOPS else parts[0]


@cache
def modules_imported_by(path: Path) -> frozenset[str]:
    """Every module a file imports, anywhere in it, relative imports written out in full."""
    package = ("acidbase_lib", *path.relative_to(LIBRARY).parent.parts)
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = ".".join([*base, *([node.module] if node.module else [])])
            found |= {stem} | {f"{stem}.{alias.name}" for alias in node.names}
    return frozenset(found)


@cache
def files_imported_by(path: Path) -> frozenset[Path]:
    """The library's own files among them; a name inside a module leads to that module."""
    found = set()
    for name in modules_imported_by(path):
        file = LIBRARY.parent.joinpath(*name.split(".")).with_suffix(".py")
        if name.startswith("acidbase_lib.") and file.is_file():
            found.add(file)
    return frozenset(found)


@EACH_FILE
def test_a_module_imports_only_from_where_its_room_may(path: Path) -> None:
    floor, room = floor_of(path), room_of(path)
    allowed = {floor if name == floor else f"{floor}/{name}" for name in MAY_USE[room].split()}
    for file in files_imported_by(path):
        other = floor_of(file)
        if other not in FLOORS:
            continue  # the package's own face and its caution
        assert FLOORS.index(other) <= FLOORS.index(floor), f"{other} is above {floor}"
        if other == floor and room_of(file) != room:
            assert room_of(file) in allowed, f"{room} may not use {room_of(file)}"


def test_the_table_names_every_room_and_no_other() -> None:
    assert {room_of(path) for path in FILES} == set(MAY_USE)


def test_no_arrow_between_rooms_runs_in_a_circle() -> None:
    arrows = {room: {room.split("/")[0] if name == room.split("/")[0] else
                     f"{room.split('/')[0]}/{name}" for name in uses.split()}
              for room, uses in MAY_USE.items()}
    while arrows:
        ends = {room for room, uses in arrows.items() if not uses & set(arrows)}
        assert ends, f"these rooms use one another: {sorted(arrows)}"
        arrows = {room: uses for room, uses in arrows.items() if room not in ends}


def test_no_module_imports_itself_by_way_of_others() -> None:
    arrows = {path: set(files_imported_by(path)) for path in FILES}
    while ends := {path for path, uses in arrows.items() if not uses & set(arrows)
                   or not any(path in others for others in arrows.values())}:
        arrows = {path: uses for path, uses in arrows.items() if path not in ends}
    assert not arrows, sorted(str(path.relative_to(LIBRARY)) for path in arrows)


def test_no_room_is_so_full_that_nobody_finds_a_module_in_it() -> None:
    folders = {path.parent for path in FILES}
    full = {str(folder.relative_to(LIBRARY)): len(modules) for folder in folders
            if len(modules := [p for p in folder.glob("*.py") if p.name != "__init__.py"])
            > MODULES_IN_A_ROOM}
    assert not full


@EACH_FILE
def test_the_learners_half_is_plain_python(path: Path) -> None:
    if (floor_of(path) not in LEARNER_FLOORS
            or path.relative_to(LIBRARY).as_posix().startswith(HEAVY_ALLOWED)):
        return
    heavy = {name.split(".")[0] for name in modules_imported_by(path)} & HEAVY
    assert not heavy, f"{path.name} costs a learner {heavy}"


@EACH_FILE
def test_a_module_says_what_it_is_in_one_line(path: Path) -> None:
    doc = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert doc, f"{path.name} has no docstring"
    assert len(doc.splitlines()[0]) <= 100


@EACH_FILE
def test_a_module_is_no_longer_than_three_hundred_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


def test_the_whole_package_stands_on_the_four_floors() -> None:
    folders = {path.name for path in LIBRARY.iterdir() if path.is_dir() and path.name[0] != "_"}
    assert folders == {*FLOORS, "content"}
    assert not list((LIBRARY / "content").rglob("*.py"))
