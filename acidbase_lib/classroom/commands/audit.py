"""Check questions that you wrote by hand, before a learner meets them.

FILE is a plain text (or a table saved as CSV): a stem, a line for each
option, and `right: B`. Each finding names the line, the reason and a
mended proposal. Examples:

  acidbase audit --guide          how to write the file
  acidbase audit --example        a file to start from
  acidbase audit questions.txt
  acidbase audit questions.csv --json

Ends with 0 if nothing must be mended, 1 if something must, 2 if the file
cannot be read.
"""
from __future__ import annotations

import argparse
import json
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.teaching.content import content_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("file", type=Path, metavar="FILE", nargs="?",
                        help="questions in plain text or CSV")
    parser.add_argument("--guide", action="store_true", help="print how to write the file")
    parser.add_argument("--example", action="store_true", help="print a file to start from")
    parser.add_argument("--explain", action="store_true",
                        help="say what was understood of each question as well")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")


def run(asked: argparse.Namespace) -> int:
    """Check the file and print what was found."""
    for wanted, name in ((asked.guide, "guide"), (asked.example, "example")):
        if wanted:
            print(kept_text(name), end="")
            return 0
    if asked.file is None:
        raise CommandError("name a file of questions (`acidbase audit --guide` shows how to write "
                           "one)")
    from acidbase_lib.teaching.own_questions.as_asked import as_asked
    from acidbase_lib.teaching.question_check.audit import audit as check
    from acidbase_lib.teaching.question_check.report import report

    audit = check(as_asked(asked.file))
    if asked.json:
        print(json.dumps({"file": str(asked.file), **audit.as_dict()}, indent=2,
                         ensure_ascii=False))
    else:
        print(report(audit, str(asked.file), asked.explain), end="")
    return 0 if audit.sound else 1


def kept_text(name: str) -> str:
    """A text that is installed with the library: the "guide" or the "example"."""
    return content_text("question_sheet", f"{name}.txt")
