"""What is missing on a hub's machine, each thing in one sentence that says how to mend it."""
from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Iterable, Iterator, Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from acidbase_lib import __version__
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.lti.own_folder import NAME as LTI_FOLDER
from acidbase_lib.classroom.lti.platform import read_platform
from acidbase_lib.classroom.lti.tool_key import SECRET
from acidbase_lib.classroom.private import others_can_read

from .hub_files import files_of
from .hub_plan import HubPlan, read_record
from .sign_in import OTHERS

# package: the versions that the files were tried with, from one on and below another
NEEDED: Mapping[str, tuple[tuple[int, ...], tuple[int, ...]]] = {
    "jupyterhub": ((5, 2), (7,)),
    "jupyterhub-idle-culler": ((1, 3), (3,)),
    "jupyterlab": ((4, 2), (5,)),
    "notebook": ((7, 2), (8,)),
    "nbgrader": ((0, 9, 6), (0, 10)),
    "ipywidgets": ((8, 1, 5), (9,)),
    "anywidget": ((0, 9), (1,)),
}
NEEDED_FOR_LTI: Mapping[str, tuple[tuple[int, ...], tuple[int, ...]]] = {
    "jupyterhub-ltiauthenticator": ((1, 6, 3), (2,)),
    "PyJWT": ((2, 8), (3,)),
}
FRONT_ENDS = {"@jupyter/nbgrader": "nbgrader", "anywidget": "anywidget",
              "@jupyter-widgets/jupyterlab-manager": "jupyterlab_widgets",
              "acidbase-ready": "acidbase-lib"}
NO_OTHER_HOST = "default-src 'self' "  # of a page: what is not the hub's own is not asked for
# a server extension of nbgrader's that one of ours loads when it is first asked for
WHEN_ASKED = {"assignment_list": "acidbase_lib.classroom.hub.assignments_when_asked"}
EXCHANGE_MODE = 0o777  # nbgrader's own: everyone hands in there
_COURSE = "home.ipynb"  # in a home folder: its owner was here
_FIRST_PERSON = 1000  # below it, accounts of the system (login.defs, UID_MIN)
_SECONDS = 120


def missing_on(folder: Path, address: str | None = None) -> tuple[str, ...]:
    """Say what is missing where a hub's files are in use; nothing where all is well.

    Parameters
    ----------
    folder : Path
        Where `acidbase hub` wrote the files.
    address : str, optional
        Where the running hub answers, such as ``http://127.0.0.1:8000``; not asked where left out.

    Raises
    ------
    CommandError
        The folder holds no files of ours.
    """
    plan = read_record(folder)
    answer = [*_packages(plan), *_files(plan, folder), *_exchange(Path(plan.exchange)),
            *_course(Path(plan.course)), *_platform(plan)]
    if not plan.kubernetes:
        answer += [*_proxy(), *_homes(_accounts()), *_learner(plan, folder),
                   *_instructor(plan, folder)]
    return (*answer, *(_running(address) if address else ()))


def _packages(plan: HubPlan) -> Iterator[str]:
    for package, (lowest, below) in {**NEEDED, **(NEEDED_FOR_LTI if plan.lti else {})}.items():
        span = f"from {_dotted(lowest)} on, below {_dotted(below)}"
        try:
            there = version(package)
        except PackageNotFoundError:
            yield (f"The package {package} is not installed: pip install \"{package}"
                   f">={_dotted(lowest)},<{_dotted(below)}\".")
            continue
        number = tuple(int(part) for part in there.split(".")[:3] if part.isdigit())
        if not lowest <= number < below:
            yield f"{package} is {there}; these files were tried with versions {span}."


def _files(plan: HubPlan, folder: Path) -> Iterator[str]:
    if plan.version != __version__:
        yield (f"The files were written by acidbase-lib {plan.version}, and {__version__} is "
               f"installed: write them again with `acidbase hub {folder} --force`.")
        return
    for name, text in files_of(plan).items():
        path = folder / name
        if not path.is_file():
            yield f"{path} is missing: write the files again with `acidbase hub {folder} --force`."
        elif path.read_text(encoding="utf-8") != text:
            yield f"{path} was changed by hand: put your own settings into {folder / 'local.py'}."
        elif not path.stat().st_mode & stat.S_IROTH:
            yield f"{path} cannot be read by learners' servers: chmod o+r {path}."


def _exchange(folder: Path) -> Iterator[str]:
    if not folder.is_dir():
        yield f"The exchange {folder} is not there: install -d -m 777 {folder}."
    elif (mode := stat.S_IMODE(folder.stat().st_mode)) != EXCHANGE_MODE:
        yield (f"The exchange {folder} has the permissions {mode:o}; learners can hand in only "
               f"with {EXCHANGE_MODE:o}: chmod {EXCHANGE_MODE:o} {folder}.")


def _course(folder: Path) -> Iterator[str]:
    settings, sources = folder / "course" / "nbgrader_config.py", folder / "solutions"
    try:
        if not settings.is_file():
            yield (f"The course is not in {folder}: copy the kit's `solutions` and `course` there "
                   f"({settings} is missing).")
        elif not any(sources.glob("*/*.ipynb")):
            yield f"{sources} holds no notebook: copy the kit's `solutions` there."
        elif settings.stat().st_uid == 0 and os.name == "posix":
            yield f"The course in {folder} belongs to root: give it to the instructor (chown -R)."
        if sources.is_dir() and folder.stat().st_mode & sources.stat().st_mode & 0o007:
            yield f"{sources} holds the right answers and everyone may read it: chmod 700 {folder}."
    except PermissionError:
        return  # kept from whoever asks, as it should be; the instructor's own check says the rest


def _platform(plan: HubPlan) -> Iterator[str]:
    """What the sign-in from a learning platform still needs, in the course's folder."""
    if plan.lti is None:
        return
    folder = Path(plan.course) / LTI_FOLDER
    try:
        if not (folder / SECRET).is_file():
            yield (f"The tool has no key in {folder}: `acidbase lti register --course "
                   f"{plan.course}` makes it; no grade can go back without.")
        elif next(others_can_read([folder]), None) is not None:
            yield f"Others can read {folder}, where the tool's key is: chmod -R go= {folder}."
        if read_platform(folder) != plan.lti:
            yield (f"{folder} tells of another platform, or of other settings, than the hub's "
                   "files: write them again with --lti and --force.")
    except CommandError as error:
        yield f"{str(error)[0].upper()}{str(error)[1:]}."
    except PermissionError:
        return  # kept from whoever asks, as it should be


def _proxy() -> Iterator[str]:
    beside = Path(sys.executable).with_name("configurable-http-proxy")
    if not (shutil.which("configurable-http-proxy") or beside.is_file()
            or os.environ.get("CONFIGPROXY")):
        yield ("The hub's proxy is missing: npm install -g configurable-http-proxy@5, or name it "
               "in local.py.")


def _accounts() -> Iterator[tuple[str, Path]]:
    """The name and the home folder of each account that is a person's."""
    if sys.platform == "win32":
        yield from ()
    else:
        import pwd

        for one in pwd.getpwall():
            if one.pw_uid >= _FIRST_PERSON:
                yield one.pw_name, Path(one.pw_dir)


def _homes(accounts: Iterable[tuple[str, Path]]) -> Iterator[str]:
    open_to_all = []
    for name, home in accounts:
        try:
            if home.stat().st_mode & OTHERS and (home / _COURSE).is_file():
                open_to_all.append((name, home))
        except OSError:
            continue  # kept from whoever asks, as it should be, or not there
    if open_to_all:
        names, (_, home) = ", ".join(name for name, _ in open_to_all[:3]), open_to_all[0]
        more = f" and {len(open_to_all) - 3} more" if len(open_to_all) > 3 else ""
        yield (f"Other accounts may read what {names}{more} answered: chmod 700 {home}, and "
               "HOME_MODE 0700 in /etc/login.defs for accounts to come.")


def _learner(plan: HubPlan, folder: Path) -> Iterator[str]:
    with tempfile.TemporaryDirectory() as home:  # as at a first sign-in
        found = _probe(folder / "learner", home)
        if isinstance(found, str):
            yield f"A learner's server would not start: {found}."
            return
        if not Path(home, _COURSE).is_file() or Path(home, "please_tell.ipynb").exists():
            yield "A learner who signs in would not find the course; please_tell.ipynb says why."
    if (found["exchange"], found["course_id"]) != (plan.exchange, plan.course_id):
        yield (f"A learner's nbgrader does not read {folder / 'learner' / 'nbgrader_config.py'}: "
               f"its exchange is {found['exchange'] or 'not set'}.")
    if found["student_id"] != "learner":
        yield "A learner's nbgrader does not take the hub's name as the learner's id."
    yield from _shown(found, "learner", "assignment_list", "formgrader")
    folders = [Path(one) for one in found["labextensions"]]
    for name, package in FRONT_ENDS.items():
        if not any((one / name / "package.json").is_file() for one in folders):
            yield (f"Jupyter does not find the front end {name}: install {package} in the "
                   "environment that Jupyter runs in.")


def _instructor(plan: HubPlan, folder: Path) -> Iterator[str]:
    if not plan.instructors:
        yield ("No instructor is named: write the files again with --instructor NAME, or put "
               "somebody into the hub's group \"instructors\".")
    with tempfile.TemporaryDirectory() as home:
        found = _probe(folder / "instructor", home, _owner_of(Path(plan.course)))
    if isinstance(found, str):
        yield f"An instructor's server would not start: {found}."
        return
    if Path(found["root"] or "/").resolve() != Path(plan.course).resolve():
        yield (f"An instructor's nbgrader does not reach {plan.course}/course/nbgrader_config.py: "
               "the marking screen would list nothing.")
    if not Path(plan.course).resolve().is_relative_to(Path(found["shown"] or "/-").resolve()):
        yield (f"The marking screen would show an error: ServerApp.root_dir is "
               f"{found['shown'] or 'not set'} for an instructor, and the course is not in it.")
    if found["exchange"] != plan.exchange:
        yield f"An instructor's exchange is {found['exchange'] or 'not set'}, not {plan.exchange}."
    if found["student_id"]:
        yield (f"An instructor's nbgrader is narrowed to the one learner {found['student_id']}: "
               "take CourseDirectory.student_id out of nbgrader_config.py.")
    if "frame-ancestors 'self'" not in found["frame"]:
        yield ("The marking screen would stay empty: an instructor's server forbids frames. Its "
               "Content-Security-Policy must say frame-ancestors 'self'.")
    yield from _shown(found, "instructor", "formgrader", "assignment_list")


def _shown(found: Mapping[str, Any], role: str, wanted: str, unwanted: str) -> Iterator[str]:
    servers, named = found["servers"], "nbgrader.server_extensions."
    if not (servers.get(named + wanted) or servers.get(WHEN_ASKED.get(wanted, ""))):
        yield f"nbgrader's {wanted} is not enabled for the {role}."
    if servers.get(named + unwanted):
        yield f"nbgrader's {unwanted} is enabled for the {role}, whose it is not."
    if not found["frame"].startswith(NO_OTHER_HOST):
        yield (f"Pages of the {role} would ask other hosts for scripts: the server's "
               f"Content-Security-Policy must begin with {NO_OTHER_HOST.strip()}.")
    if "@jupyterlab/apputils-extension:announcements" not in found["disabled"]:
        yield f"Jupyter's news would be shown to the {role}: the page configuration is not read."


def _owner_of(course: Path) -> tuple[int, int] | None:
    """Whose the course is, where root asks: read by root, its settings would make root's files."""
    if getattr(os, "geteuid", lambda: 1)() or not course.is_dir():
        return None
    return course.stat().st_uid, course.stat().st_gid


def _probe(settings: Path, home: str,
           owner: tuple[int, int] | None = None) -> dict[str, Any] | str:
    """Read a role's settings in a process as a server would; what went wrong as text."""
    changed: dict[str, Any] = {}
    if owner is not None:
        shutil.chown(home, *owner)
        changed = {"user": owner[0], "group": owner[1], "extra_groups": []}
    kept = {name: text for name, text in os.environ.items() if not name.startswith("JUPYTER")}
    done = subprocess.run(
        [sys.executable, "-m", "acidbase_lib.classroom.hub.role_probe"], cwd=home,
        capture_output=True, text=True, encoding="utf-8", timeout=_SECONDS, check=False, **changed,
        env={**kept, "HOME": home, "JUPYTER_CONFIG_PATH": str(settings),
             "JUPYTERHUB_USER": settings.name, "JUPYTER_PLATFORM_DIRS": "1"})
    try:
        found: dict[str, Any] = json.loads(done.stdout[done.stdout.index("{"):])
        return found
    except ValueError:
        return " ".join(done.stderr.split())[-300:] or "nothing was said"


def _running(address: str) -> Iterator[str]:
    try:
        with urllib.request.urlopen(f"{address.rstrip('/')}/hub/api", timeout=10) as reply:
            json.loads(reply.read())["version"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        yield (f"No hub answers at {address} ({error}): start it with jupyterhub -f and the file "
               "jupyterhub_config.py.")


def _dotted(numbers: tuple[int, ...]) -> str:
    return ".".join(map(str, numbers))
