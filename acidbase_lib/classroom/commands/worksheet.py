"""Write a unit for paper: a worksheet, its key, and a one-page method card.

Three HTML files that print on clean pages from any browser. The key is a file
of its own, so that it is never handed out by mistake.
"""
from __future__ import annotations

import argparse
from contextlib import nullcontext
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.exports.worksheet import PAPERS, key_page, method_card, worksheet_page
from acidbase_lib.classroom.private import owner_only
from acidbase_lib.classroom.short_names import unit_called
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.recipes.book import AN_HOUR

from .form import choose_form, read_template, template_at_hand
from .school.own_unit import own_questions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase worksheet``."""
    parser.add_argument("unit", type=unit_called,
                        help="which unit, such as 02_primary_disorder or 02")
    parser.add_argument("--seed", type=int, default=1, metavar="N",
                        help="another number gives other patients (default: 1)")
    parser.add_argument("--out", type=Path, default=Path("acidbase-worksheets"), metavar="DIR",
                        help="where to write (default: %(default)s)")
    parser.add_argument("--paper", choices=tuple(PAPERS), default="a4", help="the paper's size")
    parser.add_argument("--large", action="store_true",
                        help="large print: 18 points in place of 12")
    parser.add_argument("--source", type=Path, metavar="NOTEBOOK",
                        help="your own notebook of the unit, with the keys that you hold "
                             "(default: the one in `solutions/` beside the course)")
    parser.add_argument("--settings", type=Path, metavar="FILE",
                        help="your school's ranges and oxygen targets, a TOML file")


def run(asked: argparse.Namespace) -> int:
    """Write the three pages and say where they are."""
    own = own_questions(asked)
    template = None if own else template_at_hand(asked.unit, asked.source)
    unit = choose_form(asked.unit, asked.seed, template=template, questions=own)
    if template is not None:
        from acidbase_lib.classroom.notebooks.write_questions import know_keys

        know_keys(unit, read_template(template))
    name = f"{unit.id}_form_{unit.form}"
    pages = {f"{name}_worksheet.html": worksheet_page(unit, asked.paper, asked.large),
             f"{name}_key.html": key_page(unit, asked.paper, asked.large),
             "method_card.html": method_card(in_force(), asked.paper, asked.large)}
    says = ["for learners", "for whoever marks", "for both"]
    if any(exercise.recipe == AN_HOUR for exercise in unit):
        from acidbase_lib.classroom.exports.branching import (
            branching_key,
            branching_page,
            hour_beside,
        )
        from acidbase_lib.teaching.hour.boxes import boxed

        hour = boxed(hour_beside(unit), f"{unit.form}")
        pages |= {f"{name}_turn_to_box.html": branching_page(hour, asked.paper, asked.large),
                  f"{name}_turn_to_box_key.html": branching_key(hour, asked.paper, asked.large)}
        says += ["for learners: another hour, in boxes to turn to", "for whoever leads it"]
    asked.out.mkdir(parents=True, exist_ok=True)
    for file, text in pages.items():
        with owner_only() if file.endswith("_key.html") else nullcontext():
            write_whole(asked.out / file, text)
    width = max(map(len, pages))
    print(f"{unit.title}: {len(unit.exercises)} questions on paper, form {unit.form}.")
    for file, whose in zip(pages, says, strict=True):
        print(f"  {asked.out / file!s:<{width + len(str(asked.out)) + 1}}  {whose}")
    return 0
