"""The class list from names and roles: learners only, every page, and why others are not on it."""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from acidbase_lib.classroom.plain_letters import seen

from .platform import learner_id
from .service import PlatformService, ServiceError

SCOPE = "https://purl.imsglobal.org/spec/lti-nrps/scope/contextmembership.readonly"
MEDIA = "application/vnd.ims.lti-nrps.v2.membershipcontainer+json"
# a context role, its sub-roles too, in full or by its simple name (LTI 1.3 core, A.2.3)
_ROLE = re.compile(r"(?:http://purl\.imsglobal\.org/vocab/lis/v2/membership(?:/(?P<of>\w+))?#)?"
                   r"(?P<name>\w+)")
_TEACHES = frozenset({"Instructor", "Administrator", "ContentDeveloper", "Manager", "Mentor",
                      "Officer", "TeachingAssistant"})
_TRIAL = re.compile(r"http://purl\.imsglobal\.org/vocab/l(?:ti|is/v2)/system/person#TestUser")


@dataclass(frozen=True, slots=True)
class Member:
    """A learner as the platform knows them, and the id they have with us."""

    learner: str
    user: str
    first: str = ""
    last: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Members:
    """The learners of a course; and how many others there are, by why they are left out."""

    learners: tuple[Member, ...]
    left_out: Mapping[str, int]


def is_learner(roles: Iterable[Any]) -> bool:
    """True where somebody is a learner in a course, and neither teaches it nor is a test.

    Examples
    --------
    >>> is_learner(["http://purl.imsglobal.org/vocab/lis/v2/membership#Learner"])
    True
    >>> is_learner(["Learner", "Instructor"])
    False
    """
    return not _why_not(roles)


def members_of(service: PlatformService, issuer: str, address: str) -> Members:
    """Ask for everyone in a course, and keep the learners.

    Parameters
    ----------
    service : PlatformService
        Who is asked.
    issuer : str
        The platform.
    address : str
        The course's ``context_memberships_url``.

    Raises
    ------
    ServiceError
        The platform does not answer, refuses, or what it says is no list of members.

    References
    ----------
    1EdTech, LTI Names and Role Provisioning Services 2.0.
    """
    learners: dict[str, Member] = {}
    left_out: dict[str, int] = {}
    for body in service.pages(address, SCOPE, MEDIA):
        members = body.get("members") if isinstance(body, dict) else None
        if not isinstance(members, list):
            raise ServiceError("names and roles answered without a list of members; nothing was "
                               "written")
        for one in members:
            member = one if isinstance(one, dict) else {}
            user, status = str(member.get("user_id") or ""), str(member.get("status", "Active"))
            why = ("without an id" if not user else
                   f"no longer active ({status.lower()})" if status != "Active" else
                   _why_not(member.get("roles") or ()))
            if why:
                left_out[why] = left_out.get(why, 0) + 1
            else:
                first, last, name = (seen(str(member.get(part) or "")).strip()[:200]
                                     for part in ("given_name", "family_name", "name"))
                learner = learner_id(issuer, user)
                learners[learner] = Member(learner, user, first, last,
                                           "" if first and last else name)
    return Members(tuple(sorted(learners.values(), key=lambda who: (
        (who.last or who.name).casefold(), who.first.casefold(), who.learner))), left_out)


def _why_not(roles: Iterable[Any]) -> str:
    found = [str(role) for role in roles] if not isinstance(roles, str) else [roles]
    if any(_TRIAL.fullmatch(role) for role in found):
        return "the platform's test person"
    read = [match for role in found if (match := _ROLE.fullmatch(role))]
    names = {match["of"] or match["name"] for match in read} | {match["name"] for match in read}
    if names & _TEACHES:
        return "teaches or runs the course"
    return "" if "Learner" in names else "in another role"
