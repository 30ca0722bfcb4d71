"""The command line: `acidbase` and its subcommands, each a module loaded when it is named."""
from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, NoReturn

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.plain_letters import only_printable, write_any_letter

from .school.own_text import with_people

if TYPE_CHECKING:
    from acidbase_lib.classroom.school.folder import School

# name: (module in this room, what it does). One line and one module make a new command.
COMMANDS: Mapping[str, tuple[str, str]] = MappingProxyType({
    "read": ("read", "read a blood gas and say why"),
    "study": ("study", "copy the course and open it in JupyterLab"),
    "mark": ("mark", "mark your own notebook and print the feedback"),
    "collect": ("collect", "mark a class: files in, feedback, grades and report out"),
    "report": ("report", "make a class's report again, and compare two sittings"),
    "export": ("research.export", "write a class's answers for research, in codes"),
    "term": ("term", "every sitting of everybody in one view, and the next hour's plan"),
    "desk": ("desk", "open the instructor's desk: all of this in one notebook"),
    "written": ("marks.written", "mark written answers in a table, names hidden"),
    "adjust": ("marks.adjust", "adjust marks afterwards: void, second answer, points, allowance"),
    "backup": ("safekeeping.backup", "copy the gradebook, also while it is in use"),
    "restore": ("safekeeping.restore", "put a backup of the gradebook back"),
    "check": ("safekeeping.check", "look over gradebook, history, backups and hand-ins"),
    "erase": ("safekeeping.erase", "erase one learner from a course"),
    "form": ("form", "write a parallel form of a unit, with new patients"),
    "school": ("school.school", "your school's own folder: its ranges, its questions"),
    "audit": ("audit", "check questions that you wrote by hand"),
    "worksheet": ("worksheet", "write a unit for paper, with its key"),
    "quiz": ("quiz", "write a unit as a quiz for a learning platform (QTI)"),
    "quiz-results": ("quiz_results", "read a quiz's answers back from a learning platform"),
    "hub": ("hub", "write a school hub's files, or say what is missing on it"),
    "lti": ("lti", "class list from a learning platform, grades back to it (LTI 1.3)"),
    "site": ("site", "build the course as a web page without a server"),
    "demo": ("demo", "invent a class, mark it, and write its report"),
})

#: Commands that read a school's own folder, named or found from here upwards.
WITH_SCHOOL = frozenset({"collect", "form", "quiz", "quiz-results", "site", "study", "worksheet",
                         "mark", "report", "read", "term", "desk", "demo", "audit"})
#: Of those, the ones that draw and judge by its ranges though they take no --settings.
BY_ITS_RANGES = frozenset({"demo", "audit"})

#: Those of them that draw anew: with the school's people. The others read what was drawn.
WHO_DRAW = frozenset({"form", "quiz", "quiz-results", "site", "study", "worksheet"})

# packages that come with an extra, and the commands for which the small extra is enough
_OF_AN_EXTRA = frozenset({"jupyterlab", "nbformat", "nbconvert", "jinja2", "mistune", "nbgrader",
                          "pandas", "numpy", "matplotlib", "rich", "sqlalchemy", "alembic",
                          "jwt", "cryptography", "babel", "distributed", "dask", "psycopg2"})
_EXTRA_OF = MappingProxyType({"distributed": "dask", "dask": "dask", "psycopg2": "postgres"})
_PASSWORD = re.compile(r"(\w://[^:/@\s]*):\S*@")  # in a database's address, to its last @
_STUDY_IS_ENOUGH = frozenset({"study", "mark"})


class Parser(argparse.ArgumentParser):
    """An argument parser that answers bad input with one sentence."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and where help is."""
        raise CommandError(f"{message} (`{self.prog} --help` shows how it is used)")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; 0 when done, 2 for input that cannot be used.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after ``acidbase``; the process's own by default.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    write_any_letter()
    with only_printable():
        return _main(words)


def _main(words: Sequence[str]) -> int:
    if not words or words[0] in {"-h", "--help", "help"}:
        print(overview())
        return 0
    if words[0] == "--version":
        from acidbase_lib import __version__

        print(f"acidbase {__version__}")
        return 0
    try:
        return _run(words[0], words[1:])
    except CommandError as error:
        return _say(words[0], str(error))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return _say(words[0], "stopped", 130)
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _say(words[0], f"{where}{error.strerror or error}")
    except (ValueError, RuntimeError) as error:
        if not _is_ours(error):
            raise
        return _say(words[0], str(error))


def overview() -> str:
    """What ``acidbase`` alone prints."""
    width = max(map(len, COMMANDS))
    lines = [f"  acidbase {name:<{width}}  {does}" for name, (_, does) in COMMANDS.items()]
    return "\n".join(["A teaching kit for reading blood gases.", "", *lines, "",
                      "`acidbase read --help` shows how a command is used.", CAUTION])


def _run(name: str, words: Sequence[str]) -> int:
    if name not in COMMANDS:
        from difflib import get_close_matches

        near = get_close_matches(name, COMMANDS, 1)
        meant = f" Did you mean `acidbase {near[0]}`?" if near else ""
        raise CommandError(f"there is no command {name[:40]!r}; the commands are "
                           f"{', '.join(COMMANDS)}.{meant}")
    try:
        return _do(name, words)
    except ModuleNotFoundError as missing:
        raise CommandError(_which_extra(missing, COMMANDS[name][0])) from None


def _do(name: str, words: Sequence[str]) -> int:
    command = import_module(f"{__package__}.{COMMANDS[name][0]}")
    parser = Parser(prog=f"acidbase {name}", description=command.__doc__, epilog=CAUTION,
                    formatter_class=argparse.RawDescriptionHelpFormatter)
    command.add_arguments(parser)
    if name in WITH_SCHOOL:
        parser.add_argument("--school", metavar="FOLDER", type=Path,
                            help="your school's own folder (default: the one you are in)")
    asked = parser.parse_args(list(words))
    if name in WITH_SCHOOL:
        if name in BY_ITS_RANGES:
            asked.settings = None
        asked.school = _school(asked)
    with _by_the_school(getattr(asked, "settings", None), told=name != "read"), (
            with_people(asked.school) if name in WHO_DRAW else nullcontext()):
        return int(command.run(asked))


def _school(asked: argparse.Namespace) -> School | None:
    """The school's folder that a command is to use, said in its first line."""
    here = Path().absolute()
    if any(getattr(asked, text, False) for text in ("guide", "example")):
        return None  # a text to be kept as a file: nothing before it
    if asked.school is None and not any((one / "school.toml").is_file()
                                        for one in (here, *here.parents)):
        return None  # without what a school needs: `acidbase read` is to answer at once
    from acidbase_lib.classroom.school.folder import find_school

    school = find_school(asked.school)
    if school is not None and not getattr(asked, "json", False):
        print(school.told)
    if school is not None and getattr(asked, "settings", "") is None:
        asked.settings = school.settings  # a file named by hand wins
    return school


def _by_the_school(file: Path | None, told: bool) -> AbstractContextManager[object]:
    """Whatever a command draws, marks or tells is by the settings that it was given.

    With `told` it is said what an oxygen target of a school's own differs in.
    """
    if file is None:
        return nullcontext()
    from acidbase_lib.reading.lab_settings import LabSettings
    from acidbase_lib.reading.settings_in_force import by_settings

    if not file.is_file():
        raise CommandError(f"there is no settings file {file}")
    settings = LabSettings.from_toml(file)
    if told:
        from acidbase_lib.reading.oxygenation.target import cautions_of

        for line in cautions_of(settings):
            print(line)
    return by_settings(settings)


def _say(name: str, sentence: str, code: int = 2) -> int:
    sentence = _PASSWORD.sub(r"\1:***@", " ".join(sentence.split()))
    print(f"acidbase {name}: {sentence}", file=sys.stderr)
    return code


def _which_extra(missing: ModuleNotFoundError, home: str) -> str:
    package = (missing.name or "").split(".")[0]
    if package not in _OF_AN_EXTRA:
        raise missing
    extra = _EXTRA_OF.get(package) or (
        "lti" if home == "lti" else "study" if home in _STUDY_IS_ENOUGH else "class")
    return (f"this needs the package {package}, which is not installed; install it with: "
            f"pip install {_with_extra(extra)}")


def _with_extra(extra: str) -> str:
    """The kit with an extra, from where this one was installed: an index need not have it."""
    import json
    from importlib.metadata import PackageNotFoundError, distribution

    try:
        told = json.loads(distribution("acidbase-lib").read_text("direct_url.json") or "{}")
    except (PackageNotFoundError, ValueError):
        told = {}
    place = f" @ {told['url']}" if str(told.get("url", "")).startswith("file:") else ""
    return f'"acidbase-lib[{extra}]{place}"'


def _is_ours(error: BaseException) -> bool:
    """Whether an error was raised on purpose by the library, with a sentence for people."""
    return type(error).__module__.split(".")[0] == "acidbase_lib"


if __name__ == "__main__":
    sys.exit(main())
