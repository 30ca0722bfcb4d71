"""Write a JupyterHub's files for this course, or say what is missing on one.

Learners' and instructors' settings are apart: exchange, menus, news, the
frame rule of the marking screen, culling and limits, each with a comment.
Your own settings (sign-in, accounts, address) go into local.py beside them,
which is never written over. --check looks the machine over and ends with 1
if anything is missing. --force writes the files again, for the same course,
instructors and folders unless you say otherwise: after an upgrade, that is all.
"""
from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.errors import CommandError

_FIRST: dict[str, Any] = {
    "course": "/srv/acidbase", "exchange": "/srv/exchange",
    "contact": "the person who runs this hub", "instructors": (), "kubernetes": False,
    "lti": None}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("out", metavar="OUT", type=Path, help="the folder of the hub's files")
    parser.add_argument("--check", action="store_true",
                        help="write nothing; say in sentences what is missing on this machine")
    parser.add_argument("--running", metavar="ADDRESS",
                        help="with --check: where the hub answers, such as http://127.0.0.1:8000")
    parser.add_argument("--instructor", metavar="NAME", action="append",
                        help="the name an instructor signs in with; give it once for each")
    parser.add_argument("--course", metavar="DIR",
                        help="the instructor's folder with solutions/ and course/ "
                             f"(default: {_FIRST['course']})")
    parser.add_argument("--exchange", metavar="DIR",
                        help="where files are handed out and in "
                             f"(default: {_FIRST['exchange']})")
    parser.add_argument("--contact", metavar="TEXT",
                        help="whom a learner tells when something is wrong "
                             f"(default: {_FIRST['contact']})")
    parser.add_argument("--lti", action="store_true", default=None,
                        help="people sign in from the learning platform that `acidbase lti "
                             "register` was told of in the course's folder")
    parser.add_argument("--kubernetes", action="store_true", default=None,
                        help="write values.yaml for the hub's chart instead")
    parser.add_argument("--force", action="store_true", help="write over an older set of ours")


def run(given: argparse.Namespace) -> int:
    """Write and say what comes next, or check and say what is missing."""
    if given.check:
        return _check(given.out, given.running)
    if given.running:
        raise CommandError("--running goes with --check")
    from acidbase_lib.classroom.hub.hub_files import write_hub_files
    from acidbase_lib.classroom.hub.hub_plan import HubPlan

    out = given.out.absolute()
    said = {"course": given.course, "exchange": given.exchange, "contact": given.contact,
            "instructors": given.instructor and tuple(given.instructor),
            "kubernetes": given.kubernetes}
    decided = {**(_said_before(out) if given.force else _FIRST),
               **{name: value for name, value in said.items() if value is not None}}
    if given.lti:
        from acidbase_lib.classroom.lti.own_folder import NAME
        from acidbase_lib.classroom.lti.platform import read_platform

        decided["lti"] = read_platform(Path(decided["course"]) / NAME)
    plan = HubPlan("/etc/acidbase" if decided["kubernetes"] else str(out), **decided)
    for path in write_hub_files(plan, out, force=given.force):
        print(path)
    if plan.kubernetes:
        print(f"\nUse it beside your own file: helm upgrade ... -f yours.yaml -f {out}/values.yaml")
        return 0
    print(f"\nYour sign-in, accounts and address go into {out}/local.py. Then:\n"
          f"  acidbase hub {out} --check\n  jupyterhub -f {out}/jupyterhub_config.py")
    return 0


def _said_before(out: Path) -> dict[str, Any]:
    """What the older set of files was written for; the defaults where no record can be read."""
    from acidbase_lib.classroom.hub.hub_plan import read_record

    try:
        there = read_record(out)
    except CommandError:
        return _FIRST
    return {name: getattr(there, name) for name in _FIRST}


def _check(folder: Path, address: str | None) -> int:
    from acidbase_lib.classroom.hub.check_hub import missing_on

    missing = missing_on(folder.absolute(), address)
    for sentence in missing:
        print(f"- {sentence}")
    print(f"{len(missing)} {'thing is' if len(missing) == 1 else 'things are'} missing."
          if missing else "Nothing is missing.")
    return 1 if missing else 0
