"""What is kept of a launch: where the course's services answer, and whom an id stands for."""
from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.plain_letters import seen

from .names_and_roles import is_learner
from .platform import is_safe, learner_id
from .record import Context, opened_record

CLAIM = "https://purl.imsglobal.org/spec/lti/claim/"
NAMES_AND_ROLES = "https://purl.imsglobal.org/spec/lti-nrps/claim/namesroleservice"
GRADES = "https://purl.imsglobal.org/spec/lti-ags/claim/endpoint"


def context_of(claims: Mapping[str, Any]) -> Context | None:
    """Return the course that a launch came from; None where it names none.

    Parameters
    ----------
    claims : mapping
        Of an id_token whose signature was checked.
    """
    about = _part(claims, f"{CLAIM}context")
    if not about.get("id"):
        return None
    people, grades = _part(claims, NAMES_AND_ROLES), _part(claims, GRADES)
    scopes = grades["scope"] if isinstance(grades.get("scope"), list) else []
    title = seen(str(about.get("title") or about.get("label") or ""))[:200]
    return Context(str(about["id"]), title, _address(people.get("context_memberships_url")),
                   _address(grades.get("lineitems")), tuple(map(str, scopes)))


def keep_launch(folder: Path, issuer: str, claims: Mapping[str, Any]) -> None:
    """Keep what roster and grades need of a launch, and nothing else of the person.

    Parameters
    ----------
    folder : Path
        The course's ``lti`` folder.
    issuer : str
        The platform.
    claims : mapping
        Of an id_token whose signature was checked.

    Raises
    ------
    CommandError
        The record cannot be written.
    """
    context = context_of(claims)
    user = str(claims["sub"])
    with opened_record(folder) as record:
        if context is not None:
            known = {one.id: one for one in record.contexts()}.get(context.id)
            if known is not None:  # a link may be launched that tells less than another
                context = replace(context, members=context.members or known.members,
                                  line_items=context.line_items or known.line_items,
                                  scopes=context.scopes or known.scopes)
            if context != known:
                record.keep_context(context)
        if is_learner(claims.get(f"{CLAIM}roles") or ()):
            record.keep_people({learner_id(issuer, user): user})


def main() -> None:
    """Keep a launch as a process of its own: folder and issuer as words, claims as JSON."""
    keep_launch(Path(sys.argv[1]), sys.argv[2], json.load(sys.stdin))


def kept_claims(claims: Mapping[str, Any]) -> dict[str, Any]:
    """Return the claims that `keep_launch` looks at; a name or an e-mail address is not among them.

    Examples
    --------
    >>> kept_claims({"sub": "7", "email": "ada@school.example"})
    {'sub': '7'}
    """
    wanted = ("sub", f"{CLAIM}context", f"{CLAIM}roles", NAMES_AND_ROLES, GRADES)
    return {name: claims[name] for name in wanted if name in claims}


def _part(claims: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    part = claims.get(name)
    return part if isinstance(part, dict) else {}


def _address(found: Any) -> str:
    return found if isinstance(found, str) and is_safe(found) else ""


if __name__ == "__main__":
    main()
