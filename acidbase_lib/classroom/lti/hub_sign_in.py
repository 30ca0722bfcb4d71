"""A hub's sign-in from a learning platform: its deployments alone, each launch once, safe ids."""
from __future__ import annotations

import asyncio
import json
import sys
import time
from pathlib import Path
from typing import Any

from ltiauthenticator.lti13.auth import LTI13Authenticator
from ltiauthenticator.lti13.error import LoginError
from ltiauthenticator.lti13.handlers import LTI13LoginInitHandler
from traitlets import Set, Unicode

from acidbase_lib.classroom.errors import CommandError

from . import launch
from .launch import CLAIM, keep_launch, kept_claims
from .own_folder import other_owner
from .platform import learner_id

LIMIT = 60.0  # for keeping a launch [s]


class PlatformLogin(LTI13LoginInitHandler):  # type: ignore[misc]
    """Where a sign-in begins: its two cookies must come back with a form of another site."""

    def _set_oauth_cookie(self, key: str, value: str) -> None:
        self._set_cookie(key, value, expires_days=1, httponly=True, encrypted=True,
                         secure=True, samesite="None")

    def _get_optional_arg(self, args: dict[str, str], arg: str) -> str | None:
        given: str | None = super()._get_optional_arg(args, arg)
        ours = self.authenticator.client_id
        # a platform need not send it: core specification 1.3, "additional login parameters"
        return next(iter(ours)) if not given and arg == "client_id" and len(ours) == 1 else given


class PlatformAuthenticator(LTI13Authenticator):  # type: ignore[misc]
    """Signs in whom the platform vouches for, as :func:`learner_id`; no e-mail address is kept.

    Signature, issuer, audience, time, state and nonce are looked at by the class above; here the
    deployment, that no launch comes twice, and what is kept for roster and grades.
    """

    login_handler = PlatformLogin
    deployments = Set(Unicode(), config=True, help="Deployments from which people may come.")
    folder = Unicode(config=True, help="The course's folder `lti`; nothing is kept where empty.")

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self._used: dict[str, float] = {}  # nonce: when its launch has ended in any case

    def get_username(self, token: dict[str, Any]) -> str:
        """Return the learner's id.

        Raises
        ------
        LoginError
            The platform does not say who it is.
        """
        if not token.get("sub"):
            raise LoginError("The platform does not say who you are.")
        return learner_id(self.issuer, str(token["sub"]))

    async def authenticate(self, handler: Any, data: dict[str, Any] | None = None,
                           ) -> dict[str, Any]:
        """Take a launch whose signature was checked; none of its claims is handed on.

        Raises
        ------
        LoginError
            It is of another deployment, or came before, or names nobody.
        """
        claims = data or {}
        if claims.get(f"{CLAIM}deployment_id") not in self.deployments:
            raise LoginError("This deployment is not known here; tell whoever runs the hub.")
        self._only_once(str(claims.get("nonce")), float(claims.get("exp", 0)))
        name = self.get_username(claims)
        if self.folder:
            try:
                await self._keep(Path(self.folder), kept_claims(claims))
            except (CommandError, OSError, TimeoutError) as error:
                # who signs in shall not suffer from it
                self.log.error("Nothing could be kept for roster and grades: %s", error)
        return {"name": name, "auth_state": None}

    async def _keep(self, folder: Path, claims: dict[str, Any]) -> None:
        """Keep a launch as the folder's owner; a hub that is root does so in another process."""
        owner = other_owner(folder)
        if owner is None:
            keep_launch(folder, self.issuer, claims)
            return
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", launch.__name__, str(folder), self.issuer, cwd="/",
            stdin=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
            user=owner[0], group=owner[1], extra_groups=[])
        try:
            _, said = await asyncio.wait_for(
                process.communicate(json.dumps(claims).encode()), LIMIT)
        except TimeoutError:
            process.kill()
            raise
        if process.returncode:
            raise CommandError(said.decode("utf-8", "replace").strip()[-300:])

    def _only_once(self, nonce: str, ends: float) -> None:
        now = time.time()
        self._used = {one: until for one, until in self._used.items() if until > now}
        if nonce in self._used:
            raise LoginError("This launch was used before; open the tool from the course again.")
        self._used[nonce] = ends
