"""The pages for people: short, with links, paths and commands that work, and rooms that exist."""
from __future__ import annotations

import argparse
import ast
import importlib
import re
import shlex
import tomllib
from collections.abc import Iterator
from functools import cache
from itertools import chain
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from acidbase_lib.classroom.commands.main import COMMANDS

ROOT = Path(__file__).parents[2]
LIBRARY = ROOT / "acidbase_lib"
FLOORS = ("physiology", "reading", "teaching", "classroom")
TOP = ("acidbase_lib", "tests", "solutions", "course", "binder", ".ci", ".pictures")
OURS = [path for path in (*ROOT.iterdir(), *(p for top in TOP for p in (ROOT / top).rglob("*")))
        if path.is_file() and "__pycache__" not in path.parts]
PAGES = {path.relative_to(ROOT).as_posix(): path for path in OURS if path.suffix == ".md"}
TEXTS = {name: path.read_text(encoding="utf-8") for name, path in PAGES.items()}
MANUAL = TEXTS["DEVELOPERS.md"]

# what a command writes, or what stands on somebody else's computer: no file of this repository
MADE = (".kit", "grading/", "build/", "dist/", "public/", "inbound/", "feedback/", "/",
        "handed_in.zip", "roster.csv", "quiz.zip", "our.toml")
FILE = re.compile(r"^[\w.*~-]*\.(?:py|toml|md|csv|txt|ipynb|mjs|js|css|html|svg|zip)$")


def fenced(text: str, *languages: str) -> list[str]:
    """The bodies of a page's fenced blocks, of some languages or of any."""
    return [body for language, body in re.findall(r"^```(\w*)\n(.*?)^```", text, re.M | re.S)
            if not languages or language in languages]


def spans(text: str) -> list[str]:
    """What stands in backticks, on one line or two, outside fenced blocks."""
    prose = re.sub(r"^```.*?^```", "", text, flags=re.M | re.S)
    return [" ".join(one.split()) for one in re.findall(r"`([^`]+)`", prose)]


def shell_lines(text: str) -> Iterator[list[str]]:
    """Each command that a page tells somebody to run, in words."""
    blocks = "\n".join(fenced(text, "bash", "powershell")).replace("\\\n", " ")
    for line in (*blocks.replace("\\", "/").splitlines(), *spans(text)):
        lexer = shlex.shlex(line, posix=True, punctuation_chars=";&|")
        lexer.whitespace_split = True
        lexer.quotes = '"'
        words: list[str] = []
        for word in lexer:
            if set(word) <= set(";&|"):
                yield words
                words = []
            else:
                words.append(word)
        yield words


# --- size -----------------------------------------------------------------------------------------

def test_a_newcomer_reads_the_manual_in_ten_minutes() -> None:
    assert len(MANUAL.encode()) <= 8192


def test_the_readme_says_the_job_then_two_commands_then_shows_it() -> None:
    text = TEXTS["README.md"]
    assert len(text.encode()) <= 9000
    job, start, pictures = (text.index(mark) for mark in ("Nursing students", "```bash", "![A "))
    assert job < start < pictures
    assert text[:pictures].count("```bash") == 2


# --- links, paths, commands -----------------------------------------------------------------------

def slug(heading: str) -> str:
    kept = re.sub(r"[^\w\- ]", "", heading.strip().lower())
    return kept.replace(" ", "-")


@pytest.mark.parametrize("page", PAGES)
def test_every_link_leads_somewhere(page: str) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", TEXTS[page]):
        if re.match(r"https?:", target):
            continue
        file, _, anchor = target.partition("#")
        path = (PAGES[page].parent / file).resolve() if file else PAGES[page]
        assert path.exists(), f"{page} links to {target}, which is not there"
        if anchor:
            headings = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.M)
            assert anchor in map(slug, headings), f"{page} links to {target}: no such heading"


@cache
def written_by_the_kit() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in LIBRARY.rglob("*.py"))


def stands(path: str, page: Path) -> bool:
    """Whether a page's reader finds a path: from the root, the page, the library, or a floor."""
    bare = path.rstrip("/")
    if path.startswith(MADE):
        return True
    if "/" in path:
        starts = (ROOT, page.parent, LIBRARY, *(LIBRARY / floor for floor in FLOORS))
        return any(next(start.glob(bare), None) is not None for start in starts)
    return (any(known.match(bare) for known in OURS)
            or f'"{bare}"' in written_by_the_kit())


@pytest.mark.parametrize("page", PAGES)
def test_every_path_in_backticks_exists(page: str) -> None:
    paths = [span for span in spans(TEXTS[page]) if " " not in span and "<" not in span
             and (FILE.match(span) or re.fullmatch(r"[\w.*-]*/[\w./*-]*", span))]
    assert [path for path in paths if not stands(path, PAGES[page])] == []


@pytest.mark.parametrize("page", PAGES)
def test_every_path_in_a_command_exists(page: str) -> None:
    words = [word for line in shell_lines(TEXTS[page]) for word in line]
    paths = [word for word in words if re.match(rf"(?:{'|'.join(map(re.escape, TOP))})/", word)]
    assert [path for path in paths if not (ROOT / path).exists()] == []


@pytest.mark.parametrize("page", PAGES)
def test_every_module_that_a_page_runs_can_be_imported(page: str) -> None:
    for line in shell_lines(TEXTS[page]):
        if "-m" in line[:2] and re.search(r"\bpy(?:thon3?)?$", line[0]):
            importlib.import_module(line[line.index("-m") + 1])


@pytest.mark.parametrize("page", PAGES)
def test_every_dotted_name_of_the_library_is_there(page: str) -> None:
    for span in spans(TEXTS[page]):
        if re.fullmatch(r"(?:acidbase_lib|tests)(?:\.\w+)+", span):
            home, _, name = span.rpartition(".")
            module = importlib.import_module(home)
            assert hasattr(module, name) or importlib.import_module(span), span


@cache
def options_of(command: str) -> frozenset[str]:
    module = importlib.import_module(f"acidbase_lib.classroom.commands.{COMMANDS[command][0]}")
    parser = argparse.ArgumentParser()
    module.add_arguments(parser)
    inside = [kind for action in parser._actions
              if isinstance(action, argparse._SubParsersAction) for kind in action.choices.values()]
    return frozenset(chain(*(one._option_string_actions for one in (parser, *inside))))


@pytest.mark.parametrize("page", PAGES)
def test_every_command_of_the_kit_is_one_and_takes_what_the_page_gives_it(page: str) -> None:
    for line in shell_lines(TEXTS[page]):
        if len(line) < 2 or line[0].rpartition("/")[2] != "acidbase":
            continue
        assert line[1] in COMMANDS, f"{page}: there is no `acidbase {line[1]}`"
        given = {word for word in line[2:] if word.startswith("--")}
        assert given <= options_of(line[1]), f"{page}: {' '.join(line)}"


def test_every_set_up_command_has_its_windows_form() -> None:
    """The same words, with the launcher and the folder that Windows has."""
    text = TEXTS["README.md"]
    windows = [line.replace("python3 -m venv", "py -m venv").replace(" && ", "; ").replace(
        "/bin/", "\\Scripts\\") for block in fenced(text, "bash") for line in block.splitlines()]
    assert windows == [line for block in fenced(text, "powershell") for line in block.splitlines()]


def test_the_professors_lines_run(capsys: pytest.CaptureFixture[str]) -> None:
    exec("\n".join(fenced(TEXTS["README.md"], "python")), {})
    said = capsys.readouterr().out
    assert "For teaching, not for care." in said
    assert "uncompensated respiratory alkalosis" in said
    tomllib.loads(said[said.index("name = "):])


# --- the layout table -----------------------------------------------------------------------------

def rooms() -> dict[str, str]:
    """Each room of the library and what its first line says; a room in a room belongs to it."""
    return {path.parent.relative_to(LIBRARY).as_posix(): (ast.get_docstring(ast.parse(
        path.read_text(encoding="utf-8"))) or "").splitlines()[0]
        for path in LIBRARY.rglob("__init__.py")
        if path.parent != LIBRARY and len(path.parent.relative_to(LIBRARY).parts) <= 2}


def told_rooms() -> dict[str, str]:
    """The same by the manual's table; a dash is the floor itself."""
    layout = MANUAL.partition("## Layout")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (\w+) \| (\w+|–) \| (.+) \|$", layout, re.M)[1:]
    return {floor if room == "–" else f"{floor}/{room}": line for floor, room, line in rows}


def test_the_layout_names_every_room_and_no_other() -> None:
    assert sorted(told_rooms()) == sorted({*rooms(), "content"})


def test_the_layout_says_of_a_room_what_the_room_says_of_itself() -> None:
    told = told_rooms()
    assert {room: told[room] for room, line in rooms().items()
            if not line.startswith(told[room])} == {}


def test_every_dependency_has_its_reason() -> None:
    reasons = MANUAL.partition("## Why each dependency")[2].partition("\n## ")[0]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *chain(*project["optional-dependencies"].values())]
    names = {Requirement(one).name for one in asked} - {"acidbase-lib"}
    assert {name for name in names if not re.search(rf"\b{re.escape(name)}\b", reasons)} == set()


def test_the_manual_has_what_a_newcomer_looks_for() -> None:
    headings = re.findall(r"^## (.+)$", MANUAL, re.M)
    assert headings == ["Layout", "Rules", "Everyday commands", "How to add",
                        "How a clicked answer is kept", "Marking", "Release", "Security",
                        "Why each dependency", "Glossary"]
    for word in ("reader", "belief", "misconception", "recipe", "lane", "sitting", "form",
                 "chart cell", "case type", "request", "edition", "hand-in", "take in"):
        assert f"**{word}**" in MANUAL.partition("## Glossary")[2], word
