"""What a school's learning platform told at registration, and the id a learner has with us."""
from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.private import owner_only

from .own_folder import give_to_owner

FILE = "platform.json"
_ADDRESS = re.compile(r"https://[^\s\"'\\<>{}$@]{1,500}"
                      r"|http://(?:127\.0\.0\.1|localhost)(?::\d{1,5})?(?:/[^\s\"'\\<>{}$@]{0,500})?")
_NAME = re.compile(r"[^\s\"'\\{}$\x00-\x1f]{1,255}")


def is_safe(address: str) -> bool:
    """True for an address on the web by TLS, or on this very machine.

    Examples
    --------
    >>> is_safe("https://platform.example.edu/token"), is_safe("http://platform.example.edu/token")
    (True, False)
    """
    return _ADDRESS.fullmatch(address) is not None


@dataclass(frozen=True, slots=True)
class Platform:
    """A platform as this tool is registered with it; no secret is among it.

    Parameters
    ----------
    issuer : str
        How the platform calls itself, an address.
    client_id : str
        How the platform calls this tool.
    deployments : tuple of str
        The deployments from which people may come.
    authorize : str
        Where a sign-in is asked for (authentication request).
    token : str
        Where an access token is asked for.
    keys : str
        Where the platform's public keys are.
    audience : str
        What the token's address wants as ``aud``; that address itself where empty.

    Raises
    ------
    CommandError
        An address is not by TLS, or something is missing or holds what cannot stand there.

    References
    ----------
    1EdTech, Learning Tools Interoperability Core Specification 1.3; Security Framework 1.1.
    """

    issuer: str
    client_id: str
    deployments: tuple[str, ...]
    authorize: str
    token: str
    keys: str
    audience: str = ""

    def __post_init__(self) -> None:
        for what in ("issuer", "authorize", "token", "keys"):
            if not is_safe(address := getattr(self, what)):
                raise CommandError(f"--{what} is {address[:80]!r}; it must be an address that "
                                   "begins with https://, as the platform's settings show it")
        for what, names in (("--client-id", (self.client_id,)), ("--deployment", self.deployments),
                            ("--audience", (self.audience or "-",))):
            if bad := next((name for name in names if not _NAME.fullmatch(name)), None):
                raise CommandError(f"{what} is {bad[:40]!r}; it must be 1 to 255 characters "
                                   "without spaces, quotation marks, backslashes, braces and $")
            if "" in names:
                raise CommandError(f"{what} is empty; the platform's settings show it")
        if not self.deployments:
            raise CommandError("--deployment is missing: the platform's settings show it when the "
                               "tool is added; without it any other deployment could sign in")

    @classmethod
    def of(cls, found: Mapping[str, Any]) -> Platform:
        """Build it from what was read from a file."""
        return cls(**{**found, "deployments": tuple(found["deployments"])})


def learner_id(issuer: str, user: str) -> str:
    """Return the id of a platform's person on the hub and in the gradebook.

    It is made from the platform's own id of the person, which never changes, and not from an
    e-mail address: nbgrader refuses the plus sign that may stand in one. It fits a system account,
    a folder, a roster and a container's name, and tells nobody who it is.

    Parameters
    ----------
    issuer : str
        The platform.
    user : str
        The platform's id of the person: ``sub`` in a launch, ``user_id`` in names and roles.

    Examples
    --------
    >>> learner_id("https://platform.example.edu", "29123")
    'lti-rlqmdiqxs7vi2zuj'
    """
    digest = hashlib.sha256(f"{issuer}\0{user}".encode()).digest()
    return "lti-" + base64.b32encode(digest[:10]).decode().lower()


def write_platform(folder: Path, platform: Platform) -> Path:
    """Keep a platform in the course's ``lti`` folder, readable by its owner."""
    with owner_only():
        path = write_whole(folder / FILE, json.dumps(asdict(platform), indent=1) + "\n")
    return give_to_owner(path)


def read_platform(folder: Path) -> Platform:
    """Read the platform of a course.

    Raises
    ------
    CommandError
        It was never registered, or the file cannot be read.
    """
    path = folder / FILE
    try:
        return Platform.of(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        raise CommandError(f"there is no {path}: the learning platform is not registered yet; "
                           "`acidbase lti register` does it, and says what the platform must be "
                           "told") from None
    except (ValueError, TypeError, KeyError) as error:
        named = ", ".join(field.name for field in fields(Platform))
        raise CommandError(f"{path} cannot be used ({error}); it must hold {named}: register "
                           "again with `acidbase lti register`") from None
