"""Work with your school's learning platform by the open standard LTI 1.3.

  register   make the tool's key, say what the platform must be told, keep
             what it tells
  roster     write the class list from names and roles, learners only
  grades     show what would be sent of a unit's grades; --send sends it
  forget     take a learner out of what is kept here

A grade is sent once, also after a stop at any moment: run it again. A learner
who was not marked, or whose written answers wait for you, is never sent as
zero. Of learners the course's folder `lti` keeps the platform's id beside ours
and the scores that were sent; names stand in the roster alone.
"""
from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called

if TYPE_CHECKING:
    from acidbase_lib.classroom.lti.record import Context, Record
    from acidbase_lib.classroom.lti.send_scores import Outcome
    from acidbase_lib.classroom.lti.service import PlatformService

SIGN_IN = "/hub/lti13/oauth_login", "/hub/lti13/oauth_callback"
_TOLD = {"issuer": "how the platform calls itself (issuer)",
         "client_id": "how the platform calls this tool (client id)",
         "authorize": "its authentication request address",
         "token": "its access token address", "keys": "its public keyset address"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    kinds = parser.add_subparsers(dest="what", metavar="WHAT", required=True)
    register = kinds.add_parser("register", help="make the key; keep what the platform tells")
    register.add_argument("--hub", metavar="URL", default="https://YOUR-HUB",
                          help="the hub's address, to say what the platform must be told")
    for name, about in _TOLD.items():
        register.add_argument(f"--{name.replace('_', '-')}", metavar="TEXT", help=about)
    register.add_argument("--deployment", metavar="ID", action="append", default=[],
                          help="from which deployment people may come; may be given again")
    register.add_argument("--audience", metavar="TEXT", default="",
                          help="whom a token is asked of, where it is not the token's address")
    roster = kinds.add_parser("roster", help="write the class list")
    roster.add_argument("out", metavar="CSV", type=Path, help="the class list to write")
    roster.add_argument("--force", action="store_true", help="write over an older one")
    grades = kinds.add_parser("grades", help="show what would be sent, or send it")
    grades.add_argument("unit", metavar="UNIT", type=unit_called,
                        help="which unit, such as 02_primary_disorder or 02")
    grades.add_argument("--send", action="store_true", help="send; without it nothing is")
    grades.add_argument("--partial", action="store_true",
                        help="send the points so far where written answers wait for you")
    grades.add_argument("--line-item", metavar="URL",
                        help="a column that the platform made, where it lets this tool make none")
    grades.add_argument("--roster", metavar="CSV", type=Path, help="the class list, for names")
    forget = kinds.add_parser("forget", help="take a learner out of what is kept here")
    forget.add_argument("learner", metavar="LEARNER", help="the learner's id, as in the roster")
    for one in (roster, grades):
        one.add_argument("--context", metavar="ID",
                         help="which course of the platform, where people came from several")
    for one in (register, roster, grades, forget):
        one.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                         help="the folder of this kit's course (default: here)")


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    if not given.course.is_dir():
        raise CommandError(f"there is no course folder {given.course}")
    return {"register": _register, "roster": _roster, "grades": _grades,
            "forget": _forget}[given.what](given)


def _folder(course: Path) -> Path:
    from acidbase_lib.classroom.lti.own_folder import NAME

    place = course.resolve()
    return (place.parent if place.name == "course" else place) / NAME


def _register(given: argparse.Namespace) -> int:
    from acidbase_lib.classroom.lti.own_folder import own_folder
    from acidbase_lib.classroom.lti.platform import Platform, write_platform
    from acidbase_lib.classroom.lti.tool_key import make_key

    told = {name: getattr(given, name) for name in _TOLD}
    missing = [f"--{name.replace('_', '-')}" for name, value in told.items() if not value]
    platform = None
    if len(missing) < len(told):
        if missing:
            raise CommandError(f"{', '.join(missing)} is missing: the platform's settings of this "
                               "tool show it. Nothing was written")
        platform = Platform(deployments=tuple(given.deployment), audience=given.audience, **told)
    elif given.deployment or given.audience:
        raise CommandError("--deployment and --audience go with --issuer and what else the "
                           "platform tells. Nothing was written")
    folder = own_folder(_folder(given.course).parent)
    public = make_key(folder)
    if platform is not None:
        print(f"{write_platform(folder, platform)}\n\nNow write the hub's files: "
              f"acidbase hub OUT --lti --course {folder.parent}")
        return 0
    hub = given.hub.rstrip("/")
    print(f"""Tell the platform, where it asks for a tool of LTI 1.3:
  login initiation  {hub}{SIGN_IN[0]}
  redirection       {hub}{SIGN_IN[1]}
  target link       {hub}/hub/
  public keys       the text of {public}
  opens             in a window of its own
  services          names and roles; assignment and grades: line items, scores, results
The other half of the key stays in {folder}: give it to nobody.
Then run this again with what the platform tells:
  {' '.join(f'--{name.replace("_", "-")} …' for name in _TOLD)} --deployment …""")
    return 0


def _roster(given: argparse.Namespace) -> int:
    from acidbase_lib.classroom.lti.names_and_roles import members_of
    from acidbase_lib.classroom.lti.platform import read_platform
    from acidbase_lib.classroom.lti.record import opened_record
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.grade_file import write_table

    if given.out.exists() and not given.force:
        raise CommandError(f"{given.out} is there already; --force writes it again")
    folder = _folder(given.course)
    service = _service(folder)
    with opened_record(folder) as record:
        context = _context(record, given.context)
        if not context.members:
            raise CommandError("the platform did not tell where names and roles are: switch them "
                               "on for this tool, then open the tool once from the course")
        found = members_of(service, read_platform(folder).issuer, context.members)
        if not found.learners:
            raise CommandError("names and roles named no learner; nothing was written")
        with owner_only():
            write_table(given.out, ("id", "first name", "last name", "name"), [
                (one.learner, one.first, one.last, one.name) for one in found.learners])
        record.keep_people({one.learner: one.user for one in found.learners})
    print(f"{given.out}: {len(found.learners)} learners of {context.title or context.id}.")
    for why, number in sorted(found.left_out.items()):
        print(f"  left out: {number}, {why}")
    return 0


def _grades(given: argparse.Namespace) -> int:
    from acidbase_lib.classroom.folder_lock import one_at_a_time
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.lti.record import opened_record
    from acidbase_lib.classroom.lti.scores import score_of
    from acidbase_lib.classroom.lti.send_scores import (
        SENT,
        differences,
        known_line_item,
        line_item_of,
        send_scores,
        would_send,
    )
    from acidbase_lib.classroom.lti.service import ServiceError
    from acidbase_lib.classroom.phrases import unit_name
    from acidbase_lib.classroom.report.class_pages import rows_that_count

    rows = rows_that_count(given.course, given.unit)
    names = {line.learner: line.name for line in read_roster(given.roster)} if given.roster else {}
    scores = [score_of(row, given.partial) for row in rows]
    folder = _folder(given.course)
    service = _service(folder)
    with one_at_a_time(folder), opened_record(folder) as record:
        context, people = _context(record, given.context), record.people()
        if not given.send:
            item = given.line_item or known_line_item(service, context, given.unit)
            _table(list(would_send(record, item, scores, people)), names)
            print("Nothing was sent. The same with --send sends what is named \"sent\".")
            return 0
        item = given.line_item or line_item_of(
            service, context, given.unit, unit_name(given.unit), max(
                (row.maximum for row in rows), default=0.0) or 1.0)
        outcomes: list[Outcome] = []
        trouble, shown = "", dict[str, str]()
        try:
            for outcome in send_scores(service, record, context, item, scores, people):
                outcomes.append(outcome)  # what was done is told, also where this ends early
        except ServiceError as error:
            trouble = str(error)
        _table(outcomes, names)
        if trouble:
            raise CommandError(f"{trouble}. {len(outcomes)} of {len(scores)} learners were done; "
                               "run this again, nothing is sent twice")
        there = [one.score for one in outcomes if one.became in {SENT, "as before"}]
        try:
            shown = differences(service, context, item, there, people)
        except ServiceError as error:
            print(f"Whether the platform shows these points was not looked at: {error}.")
    for learner, points in shown.items():
        print(f"  the platform shows {points} for {names.get(learner) or learner}: somebody may "
              "have changed it there, or it is not shown yet")
    undone = [one for one in outcomes if one.became in {"refused", "no answer", "not tried"}]
    if undone:
        print(f"{len(undone)} could not be sent. Run this again: what was sent is not sent twice.")
    return 1 if undone else 0


def _forget(given: argparse.Namespace) -> int:
    from acidbase_lib.classroom.lti.record import opened_record

    folder = _folder(given.course)
    if not folder.is_dir():
        raise CommandError(f"there is no {folder}: nothing is kept there of anybody")
    with opened_record(folder) as record:
        rows = record.forget(given.learner)
    print(f"{rows} {'row' if rows == 1 else 'rows'} taken out." if rows else
          "Nothing of that id was kept here.")
    print("The platform keeps what it has; whoever signs in again is noted again.")
    return 0


def _service(folder: Path) -> PlatformService:
    from acidbase_lib.classroom.lti.platform import read_platform
    from acidbase_lib.classroom.lti.service import PlatformService
    from acidbase_lib.classroom.lti.tool_key import read_key

    return PlatformService(read_platform(folder), read_key(folder))


def _context(record: Record, wanted: str | None) -> Context:
    """The course that is meant: the only one, or the one that was named."""
    there = {one.id: one for one in record.contexts()}
    if not there:
        raise CommandError("nobody has come from the platform yet: open the tool once from the "
                           "course, so that the platform tells where its services are")
    if (wanted is None and len(there) > 1) or (wanted is not None and wanted not in there):
        named = "; ".join(f"{one.id} ({one.title})" for one in there.values())
        raise CommandError(f"which course? --context names it: {named}")
    return there[wanted] if wanted is not None else next(iter(there.values()))


def _table(outcomes: Sequence[Outcome], names: Mapping[str, str]) -> None:
    rows = [("learner", "state", "points", "")]
    for one in outcomes:
        score = one.score
        points = "" if score.given is None else f"{score.given:g} of {score.maximum:g}"
        rows.append((names.get(score.learner) or score.learner, score.state, points,
                     f"{one.became}: {one.why}" if one.why else one.became))
    wide = [max(len(row[place]) for row in rows) for place in range(3)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, [*wide, 0], strict=True))
              .rstrip())
    counts = Counter(one.became for one in outcomes)
    print("Learners: " + ", ".join(f"{number} {became}" for became, number in counts.items()) + ".")
