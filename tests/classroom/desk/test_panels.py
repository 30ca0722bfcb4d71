"""Each panel builds the words of its command, and the command's own parser takes them."""
from __future__ import annotations

import re
import shlex
from importlib import import_module

import pytest

from acidbase_lib.classroom.commands.main import COMMANDS, Parser
from acidbase_lib.classroom.desk.panels import (
    DO,
    PAGES,
    PANELS,
    SHOW,
    DeskError,
    collect_words,
)

UNIT, OUT = "02_primary_disorder", "marked"
CLASS = {"unit": UNIT, "roster": "roster.csv"}
FAULTY = {"unit": UNIT, "question": "2.3", "reason": "two answers fit"}


@pytest.mark.parametrize(("panel", "press", "given", "line"), [
    ("take in", "take", CLASS | {"files": "in.zip", "due": "2026-12-01T12:00", "keys": "yes"},
     f"collect in.zip --unit {UNIT} --roster roster.csv --out marked/{UNIT} "
     "--due 2026-12-01T12:00 --release-keys"),
    ("take in", "take", CLASS | {"files": "-in.zip"},
     f"collect ./-in.zip --unit {UNIT} --roster roster.csv --out marked/{UNIT}"),
    ("take in", PAGES, CLASS | {"files": "in.zip", "due": "2026-12-01T12:00"},
     f"collect --unit {UNIT} --roster roster.csv --out marked/{UNIT}"),
    ("written", SHOW, CLASS, f"written {UNIT} --screen"),
    ("written", PAGES, CLASS, f"collect --unit {UNIT} --roster roster.csv --out marked/{UNIT}"),
    ("adjust", SHOW, FAULTY, f"adjust {UNIT} --void 2.3 --reason 'two answers fit'"),
    ("adjust", DO, FAULTY, f"adjust {UNIT} --void 2.3 --reason 'two answers fit' --do"),
    ("adjust", SHOW, FAULTY | {"what": "accept", "value": "disorder: none", "reason": "-why"},
     f"adjust {UNIT} --accept 2.3 'disorder: none' --reason=-why"),
    ("adjust", SHOW, FAULTY | {"what": "points", "value": "2"},
     f"adjust {UNIT} --points 2.3 2 --reason 'two answers fit'"),
    ("adjust", SHOW, FAULTY | {"what": "allow", "value": "-1.5", "learner": "n101"},
     f"adjust {UNIT} --allow=-1.5 --for n101 --reason 'two answers fit'"),
    ("adjust", SHOW, FAULTY | {"what": "on time", "learner": "n101"},
     f"adjust {UNIT} --on-time --for n101 --reason 'two answers fit'"),
    ("adjust", DO, FAULTY | {"what": "undo", "value": "3"},
     f"adjust {UNIT} --undo 3 --reason 'two answers fit' --do"),
    ("adjust", SHOW, FAULTY | {"what": "list"}, f"adjust {UNIT}"),
    ("report", "write", CLASS | {"before": "01_normal_ranges"},
     f"report --unit {UNIT} --before 01_normal_ranges --roster roster.csv --out "
     f"marked/{UNIT}/since_01_normal_ranges"),
    ("term", "write", CLASS, "term --roster roster.csv --out marked/term"),
    ("form", "write", {"unit": UNIT, "seed": "7", "each": "roster.csv"},
     f"form {UNIT} --seed 7 --for-each roster.csv"),
    ("form", "write", {"unit": UNIT, "seed": "7", "lesson": "yes", "counts": "first try"},
     f"form {UNIT} --seed 7 --as-lesson --counts 'first try'"),
    ("worksheet", "write", {"unit": UNIT, "large": "yes"},
     f"worksheet {UNIT} --out marked/worksheets --large"),
    ("quiz", "write", {"unit": UNIT, "seed": "7", "version": "2.1"},
     f"quiz {UNIT} --seed 7 --out marked/quizzes/{UNIT}_7.zip --version 2.1"),
    ("audit", "check", {"file": "mine.txt"}, "audit mine.txt --explain"),
])
def test_a_panel_says_the_command_and_the_command_takes_it(panel, press, given, line):
    words = PANELS[panel].words(given, press, OUT)
    assert shlex.join(words) == shlex.join(shlex.split(line))
    command = import_module(f"acidbase_lib.classroom.commands.{COMMANDS[words[0]][0]}")
    parser = Parser(prog="acidbase")
    command.add_arguments(parser)
    parser.parse_args(list(words[1:]))


def test_a_decision_names_the_file_and_hands_nothing_in_again():
    words = collect_words(CLASS | {"files": "in.zip"}, OUT, "41=n102", files=False)
    assert "in.zip" not in words
    assert words[-2:] == ("--decide", "41=n102")


@pytest.mark.parametrize(("panel", "given", "lacks"), [
    ("take in", {"unit": UNIT}, "the class list"), ("term", {}, "the class list"),
    ("adjust", FAULTY | {"reason": " "}, "the reason, as learners will read it,"),
    ("adjust", FAULTY | {"question": ""}, "the question"),
    ("adjust", FAULTY | {"what": "points"}, "the number of points"),
    ("form", {"unit": UNIT}, "a whole number as seed"),
    ("audit", {}, "the file with your questions"),
])
def test_what_a_panel_still_needs_is_said(panel, given, lacks):
    with pytest.raises(DeskError, match=rf"^Choose or write {re.escape(lacks)} first\.$"):
        PANELS[panel].words(given, SHOW, OUT)


def test_nothing_about_a_learner_is_kept_for_the_next_time():
    kept = {field.name for field in PANELS["adjust"].fields if field.kept}
    assert kept == {"unit", "what"}
