"""Write a JupyterHub's files for this course, or say what is missing on one.

Learners' and instructors' settings are apart: exchange, menus, news, the
frame rule of the marking screen, culling and limits, each with a comment.
Your own settings (sign-in, accounts, address) go into local.py beside them,
which is never written over. --check looks the machine over and ends with 1
if anything is missing.
"""
from __future__ import annotations

import argparse
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("out", metavar="OUT", type=Path, help="the folder of the hub's files")
    parser.add_argument("--check", action="store_true",
                        help="write nothing; say in sentences what is missing on this machine")
    parser.add_argument("--running", metavar="ADDRESS",
                        help="with --check: where the hub answers, such as http://127.0.0.1:8000")
    parser.add_argument("--instructor", metavar="NAME", action="append", default=[],
                        help="the name an instructor signs in with; give it once for each")
    parser.add_argument("--course", metavar="DIR", default="/srv/acidbase",
                        help="the instructor's folder with solutions/ and course/ "
                             "(default: %(default)s)")
    parser.add_argument("--exchange", metavar="DIR", default="/srv/exchange",
                        help="where files are handed out and in (default: %(default)s)")
    parser.add_argument("--contact", metavar="TEXT", default="the person who runs this hub",
                        help="whom a learner tells when something is wrong (default: %(default)s)")
    parser.add_argument("--lti", action="store_true",
                        help="people sign in from the learning platform that `acidbase lti "
                             "register` was told of in the course's folder")
    parser.add_argument("--kubernetes", action="store_true",
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

    platform = None
    if given.lti:
        from acidbase_lib.classroom.lti.own_folder import NAME
        from acidbase_lib.classroom.lti.platform import read_platform

        platform = read_platform(Path(given.course) / NAME)
    out = given.out.absolute()
    plan = HubPlan("/etc/acidbase" if given.kubernetes else str(out), given.course, given.exchange,
                   tuple(given.instructor), given.contact, kubernetes=given.kubernetes,
                   lti=platform)
    for path in write_hub_files(plan, out, force=given.force):
        print(path)
    if given.kubernetes:
        print(f"\nUse it beside your own file: helm upgrade ... -f yours.yaml -f {out}/values.yaml")
        return 0
    print(f"\nYour sign-in, accounts and address go into {out}/local.py. Then:\n"
          f"  acidbase hub {out} --check\n  jupyterhub -f {out}/jupyterhub_config.py")
    return 0


def _check(folder: Path, address: str | None) -> int:
    from acidbase_lib.classroom.hub.check_hub import missing_on

    missing = missing_on(folder.absolute(), address)
    for sentence in missing:
        print(f"- {sentence}")
    print(f"{len(missing)} {'thing is' if len(missing) == 1 else 'things are'} missing."
          if missing else "Nothing is missing.")
    return 1 if missing else 0
