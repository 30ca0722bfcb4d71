"""The settings files of a hub, filled in from a plan and written all or none."""
from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from string import Template
from textwrap import indent

from acidbase_lib.classroom.atomic_write import replace_folder, write_whole
from acidbase_lib.classroom.errors import CommandError

from .hub_plan import RECORD, HubPlan, record_of

LOCAL = "local.py"  # the school's own settings: never ours to write or to take away
_TEMPLATES = Path(__file__).with_name("settings")
_ROLES = ("learner", "instructor")
# in each role's folder: where Jupyter looks for it, and its template
_OF_A_ROLE = (("jupyter_server_config.py", "jupyter_server_config.py.in"),
              ("nbgrader_config.py", "nbgrader_config.py.in"),
              ("labconfig/page_config.json", "page_config.json.in"),
              ("jupyter_server_config.d/acidbase.json", "extensions.json.in"))


def files_of(plan: HubPlan) -> Mapping[str, str]:
    """Return the text of every file, by its path in the folder.

    Parameters
    ----------
    plan : HubPlan
        What the school decided.
    """
    roles = {f"{role}/{name}": _filled(f"{role}/{template}", plan)
             for role in _ROLES for name, template in _OF_A_ROLE}
    if not plan.kubernetes:
        hub = _filled("jupyterhub_config.py.in", plan, for_whom=_filled("for_whom.py.in", plan),
                      sign_in=_sign_in(plan))
        return {"jupyterhub_config.py": hub, **roles, RECORD: record_of(plan)}
    extra = "\n".join(
        f"    {name.replace('/', '-').replace('.', '-').replace('_', '-')}:\n"
        f"      mountPath: \"{plan.out}/{name}\"\n      stringData: |\n{indent(text, ' ' * 8)}"
        for name, text in {**roles, RECORD: record_of(plan)}.items())
    values = _filled("values.yaml.in", plan, extra_files=extra,
                     extra_config=indent(_filled("for_whom.py.in", plan), " " * 6))
    return {"values.yaml": values, RECORD: record_of(plan)}


def write_hub_files(plan: HubPlan, folder: Path, force: bool = False) -> tuple[Path, ...]:
    """Write a hub's files into a new folder or over an older set of ours; the paths.

    ``local.py``, the school's own, is kept as it is.

    Raises
    ------
    CommandError
        The folder holds other things, or an older set and `force` was not given.
    UnwrittenError
        No room or no right to write; what stood there is still there.
    """
    there = sorted(os.listdir(folder)) if folder.is_dir() else []
    if folder.exists() and not folder.is_dir():
        raise CommandError(f"{folder} is a file; choose a folder")
    if there and there != [LOCAL] and RECORD not in there:
        raise CommandError(f"{folder} holds other things ({', '.join(there[:3])}); choose a new or "
                           "an empty folder, so that nothing of yours is lost")
    ours = {"jupyterhub_config.py", "values.yaml", RECORD, LOCAL, *_ROLES}
    # what a hub makes where it is started: its memory, not ours to lose
    if odd := [name for name in there if name not in ours and name != "__pycache__"]:
        raise CommandError(f"{folder} holds other things ({', '.join(odd[:3])}); move them away, "
                           "so that nothing of yours is lost")
    if RECORD in there and not force:
        raise CommandError(f"{folder} holds a hub's files already; --force writes them again and "
                           f"keeps {LOCAL}")
    files = files_of(plan)
    with tempfile.TemporaryDirectory() as work:
        draft = Path(work, "hub")
        for name, text in files.items():
            write_whole(draft / name, text, durable=False)
        if LOCAL in there:
            write_whole(draft / LOCAL, (folder / LOCAL).read_bytes(), durable=False)
        for path in (draft, *draft.rglob("*")):  # every learner's server reads them
            path.chmod(0o755 if path.is_dir() else 0o644)
        if LOCAL in there:  # it may hold a secret of the sign-in
            (draft / LOCAL).chmod((folder / LOCAL).stat().st_mode & 0o777)
        replace_folder(draft, folder)
    return tuple(folder / name for name in files)


def _sign_in(plan: HubPlan) -> str:
    if plan.lti is None:
        return ""
    told = {name: repr(getattr(plan.lti, name)) for name in ("issuer", "authorize", "keys")}
    return _filled("lti.py.in", plan, client_id=repr(plan.lti.client_id),
                   deployments=repr(sorted(plan.lti.deployments)), **told)


def _filled(template: str, plan: HubPlan, **more: str) -> str:
    text = (_TEMPLATES / template).read_text(encoding="utf-8")
    names = "{" + ", ".join(f'"{name}"' for name in plan.instructors) + "}"
    return Template(text).substitute(
        version=plan.version, out=plan.out, course=plan.course, exchange=plan.exchange,
        contact=plan.contact, course_id=plan.course_id,
        instructors=names if plan.instructors else "set()", **more)
