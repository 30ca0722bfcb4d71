"""Make a folder of your own, laid over the kit: your ranges and your questions.

  acidbase school new DIR      a small folder to start from
  acidbase school check        what yours lays over the kit, and every fault
  acidbase school words        write words/kit.pot: every sentence, by its key

A file `questions/ward_round.txt` in it is the unit ward_round: for worksheet,
quiz, form, collect, report, study and site. `hco3 = [21, 28]` in settings.toml
changes a range. `lessons/01_ranges.md` is your own text in unit 1's notebook,
for study, form --as-lesson and site. `patients/vignettes.toml` holds your own
histories, names.toml and bedside_people.toml people, in the kit's own format.
`words/own.po` puts sentences of the kit in your words; a translation is
words/es.po, with `language = "es"` in school.toml.
`question_desk.ipynb` writes questions and ranges on a screen: open it from the
list of files, or with `acidbase desk --questions`.
Commands find the folder from inside it, or by --school FOLDER.
Check ends with 0 if it found no fault, 1 if it found one.
"""
from __future__ import annotations

import argparse
import os
import tempfile
from pathlib import Path
from textwrap import fill

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.phrases import counted
from acidbase_lib.classroom.question_desk.notebook import NAME, put_question_desk
from acidbase_lib.classroom.school.folder import MARK, QUESTIONS, SETTINGS
from acidbase_lib.teaching.content import content_text

_STARTER = {MARK: MARK, SETTINGS: SETTINGS, f"{QUESTIONS}/ward_round.txt": "ward_round.txt",
            "patients/vignettes.toml": "vignettes.toml", "words/own.po": "own.po"}
_WIDTH = 100


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase school``."""
    parser.add_argument("action", choices=("new", "check", "words"),
                        help="make a folder, look one over, or list the sentences")
    parser.add_argument("folder", metavar="DIR", type=Path, nargs="?",
                        help="with new: the folder to make")
    parser.add_argument("--school", metavar="FOLDER", type=Path,
                        help="your school's folder (default: found from here upwards)")


def run(asked: argparse.Namespace) -> int:
    """Make the folder, or say what one holds."""
    if asked.action == "new":
        return _new(asked.folder)
    folder = _here(asked.school or asked.folder)
    return _words(folder) if asked.action == "words" else _check(folder)


def _new(folder: Path | None) -> int:
    if folder is None:
        raise CommandError("name the folder to make: acidbase school new my_school")
    if os.path.lexists(folder) and (not folder.is_dir() or any(folder.iterdir())):
        raise CommandError(f"{folder} is there already and is not empty; nothing was written. Name "
                           "a new folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".acidbase-school-") as name:
        made = Path(name) / "school"
        for place, kept in _STARTER.items():
            (made / place).parent.mkdir(parents=True, exist_ok=True)
            write_whole(made / place, content_text("school_starter", kept))
        put_question_desk(made)
        if folder.is_dir():
            folder.rmdir()  # empty
        made.rename(folder)
    print(f"{folder} is made:\n"
          f"  {folder / MARK}  your school's name\n"
          f"  {folder / SETTINGS}  your ranges\n"
          f"  {folder / QUESTIONS / 'ward_round.txt'}  a unit of your own, to change\n"
          f"  {folder / 'patients' / 'vignettes.toml'}  how histories of your own are written\n"
          f"  {folder / 'words' / 'own.po'}  how sentences of the kit are put otherwise\n"
          f"  {folder / NAME}  writes both on a screen: acidbase desk --questions\n\n"
          f"Next: acidbase school check --school {folder}\n"
          f"      acidbase worksheet ward_round --school {folder}")
    return 0


def _here(given: Path | None) -> Path:
    folder = given or next((one for one in (Path().absolute(), *Path().absolute().parents)
                            if (one / MARK).is_file()), None)
    if folder is None:
        raise CommandError(f"no {MARK} is here or in a folder above; name the folder with "
                           "--school, or make one with `acidbase school new DIR`")
    if not (folder / MARK).is_file():
        raise CommandError(f"{folder} is not a school's folder: it holds no {MARK}")
    return folder


def _words(folder: Path) -> int:
    from acidbase_lib.classroom.school.words import CATALOGUE, FOLDER, OWN, as_pot

    path = folder / FOLDER / CATALOGUE
    path.parent.mkdir(exist_ok=True)
    write_whole(path, text := as_pot())
    print(f"{path}: {text.count(chr(10) + 'msgctxt '):,} sentences of the kit, each by its key. "
          f"Copy those that you\nwant to change into {path.with_name(OWN)}, and write your own "
          "into msgstr; a program for .po files\nhelps. Then: acidbase school check")
    return 0


def _check(folder: Path) -> int:
    from acidbase_lib.classroom.school.look_over import look_over

    found = look_over(folder)
    print(f"School folder: {folder}\n\nLaid over the kit:")
    for line in found.laid_over or ("nothing yet",):
        print(f"  {line}")
    if found.asked_for:
        print("\nAsked for; learners read it:")
        for line in found.asked_for:
            print(fill(line, _WIDTH, initial_indent="  - ", subsequent_indent="      "))
    if found.doubts:
        print("\nThe question writer's check doubts (`acidbase audit FILE` says more):")
        for line in found.doubts:
            print(fill(line, _WIDTH, initial_indent="  ? ", subsequent_indent="      "))
    if found.faults:
        print("\nFaults; a unit with one is not used:")
        for fault in found.faults:
            print(fill(str(fault), _WIDTH, initial_indent="  ! ", subsequent_indent="      "))
    print(f"\n{counted(len(found.faults), 'fault')}, {counted(len(found.doubts), 'doubt')}."
          + ("" if found.faults or found.doubts else
             " Nothing was found; whether a question is good, its author and a colleague decide."))
    return 1 if found.faults else 0
