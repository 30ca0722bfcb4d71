"""A learning platform on the loopback address, written from the text of the open standard.

1EdTech: LTI Core 1.3; Security Framework 1.1; Names and Role Provisioning Services 2.0;
Assignment and Grade Services 2.0. It refuses, keeps silent and slips where a test asks it to.
"""

from __future__ import annotations

import json
import threading
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import jwt
from cryptography.hazmat.primitives.asymmetric import rsa

ISSUER = "https://platform.example.edu"  # a name: the addresses below are on this machine
CLIENT, DEPLOYMENT, COURSE = "tool-7", "deployment-1", "course-9"
CLAIM = "https://purl.imsglobal.org/spec/lti/claim/"
AGS = "https://purl.imsglobal.org/spec/lti-ags/"
NRPS = "https://purl.imsglobal.org/spec/lti-nrps/"
ROLE = "http://purl.imsglobal.org/vocab/lis/v2/membership#"
LEARNER, INSTRUCTOR = f"{ROLE}Learner", f"{ROLE}Instructor"
MEMBERS = f"{NRPS}scope/contextmembership.readonly"
ITEMS, SCORE, RESULTS = (f"{AGS}scope/{name}" for name in ("lineitem", "score", "result.readonly"))


@cache
def a_key(name: str) -> Any:
    """A key of the test's own, made once."""
    return rsa.generate_private_key(public_exponent=65537, key_size=2048)


def public_half(name: str) -> dict[str, Any]:
    """A key's public half as a JSON Web Key."""
    found = json.loads(jwt.algorithms.RSAAlgorithm.to_jwk(a_key(name).public_key()))
    return {**found, "kid": name, "use": "sig", "alg": "RS256"}


@dataclass
class Cell:
    """A learner's cell in the platform's book, and how often it was written to."""

    points: float | None = None
    maximum: float = 1.0
    grading: str = ""
    timestamp: str = ""
    writes: int = 0


@dataclass
class Platform:
    """The platform's state; what a test asks it to do wrong stands in the lower half."""

    address: str = ""
    tool_keys: Path | None = None  # the JWKS that the tool's administrator handed over
    members: list[dict[str, Any]] = field(default_factory=list)
    page: int = 40  # members on a page
    items: list[dict[str, Any]] = field(default_factory=list)
    book: dict[tuple[str, str], Cell] = field(default_factory=dict)  # (line item, user)
    granted: tuple[str, ...] = (MEMBERS, ITEMS, SCORE, RESULTS)
    tokens: dict[str, tuple[str, float]] = field(default_factory=dict)
    used: set[str] = field(default_factory=set)  # jti of assertions
    asked: list[tuple[str, str]] = field(default_factory=list)  # method and path of each request
    scores: list[dict[str, Any]] = field(default_factory=list)  # each body that came, in order
    lasts: float = 3600.0  # of a token [s]
    # --- what it is asked to do wrong ---
    refuses: dict[str, int] = field(default_factory=dict)  # user: status
    silent_after: dict[str, int] = field(default_factory=dict)  # user: times; taken, then no answer
    silent_before: dict[str, int] = field(default_factory=dict)  # user: times; neither
    down: bool = False
    busy: int = 0  # how often it says 429 to whoever asks
    elsewhere: str = ""  # where the members' next page is said to be
    knows_filters: bool = True  # of line items; each platform must
    silence: float = 0.0  # after what was taken: how long before it hangs up [s]

    def member(self, user: str, *roles: str, **more: Any) -> None:
        """Put a person into the course."""
        self.members.append({"user_id": user, "roles": list(roles or (LEARNER,)),
                             "status": "Active", **more})

    def points(self) -> dict[str, float | None]:
        """The book's points by user, of the only line item."""
        assert len(self.items) == 1
        return {user: cell.points for (_, user), cell in self.book.items()}

    # --- what the standard says ---

    def launch_claims(self, user: str, nonce: str, *roles: str, **more: Any) -> dict[str, Any]:
        """The claims of a resource link launch (core 1.3, 5.3 and 5.4)."""
        now = int(time.time())
        return {
            "iss": ISSUER, "aud": CLIENT, "sub": user, "nonce": nonce, "iat": now,
            "exp": now + 300, f"{CLAIM}message_type": "LtiResourceLinkRequest",
            f"{CLAIM}version": "1.3.0", f"{CLAIM}deployment_id": DEPLOYMENT,
            f"{CLAIM}target_link_uri": "http://127.0.0.1/hub/", f"{CLAIM}roles": list(roles),
            f"{CLAIM}resource_link": {"id": "link-1"},
            f"{CLAIM}context": {"id": COURSE, "title": "Acid and base"},
            "email": "ada+term@school.example", "name": "Ada Quill",
            f"{NRPS}claim/namesroleservice": {
                "context_memberships_url": f"{self.address}/members?course=9",
                "service_versions": ["2.0"]},
            f"{AGS}claim/endpoint": {"scope": [ITEMS, SCORE, RESULTS],
                                     "lineitems": f"{self.address}/items?course=9"},
            **more}

    def id_token(self, claims: Mapping[str, Any], key: str = "platform",
                 algorithm: str = "RS256") -> str:
        """Sign a launch; the forger's keys and algorithms too."""
        secret: Any = None if algorithm == "none" else a_key(key)
        return jwt.encode(dict(claims), secret, algorithm, headers={"kid": "platform"})

    def authentication(self, query: Mapping[str, str]) -> dict[str, str]:
        """Answer an authentication request (Security Framework 1.1, 5.1.1.2 and 5.1.1.3)."""
        assert {name: query.get(name) for name in (
            "scope", "response_type", "response_mode", "prompt", "client_id")} == {
                "scope": "openid", "response_type": "id_token", "response_mode": "form_post",
                "prompt": "none", "client_id": CLIENT}, query
        (person,) = [one for one in self.members if one["user_id"] == query["login_hint"]]
        claims = self.launch_claims(person["user_id"], query["nonce"], *person["roles"])
        return {"id_token": self.id_token(claims), "state": query["state"]}

    def token_for(self, form: Mapping[str, str]) -> tuple[int, dict[str, Any]]:
        """Check a signed assertion and give a token (Security Framework 1.1, 4.1)."""
        if (form.get("grant_type"), form.get("client_assertion_type")) != (
                "client_credentials", "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"):
            return 400, {"error": "unsupported_grant_type"}
        assert self.tool_keys is not None
        try:
            keys = jwt.PyJWKSet.from_dict(json.loads(self.tool_keys.read_text()))
            assertion = form["client_assertion"]
            key = keys[jwt.get_unverified_header(assertion)["kid"]].key
            claims = jwt.decode(assertion, key, ["RS256"], audience=f"{self.address}/token",
                                issuer=CLIENT, options={
                                    "require": ["iss", "sub", "aud", "iat", "exp", "jti"]})
        except (jwt.PyJWTError, KeyError) as error:
            return 400, {"error": "invalid_client", "error_description": type(error).__name__}
        if claims["sub"] != CLIENT:
            return 400, {"error": "invalid_client", "error_description": "sub"}
        if claims["jti"] in self.used:
            return 400, {"error": "invalid_client", "error_description": "jti was used before"}
        self.used.add(claims["jti"])
        if not set(form.get("scope", "").split()) <= set(self.granted):
            return 400, {"error": "invalid_scope"}
        token = uuid.uuid4().hex
        self.tokens[token] = form["scope"], time.monotonic() + self.lasts
        return 200, {"access_token": token, "token_type": "bearer", "expires_in": self.lasts,
                     "scope": form["scope"]}

    def publish(self, item: dict[str, Any], score: dict[str, Any]) -> tuple[int, Any]:
        """Take a score (Assignment and Grade Services 2.0, score publish service)."""
        self.scores.append(score)
        user = score.get("userId")
        given, most = score.get("scoreGiven"), score.get("scoreMaximum")
        try:
            when = datetime.fromisoformat(score["timestamp"])
        except (KeyError, ValueError):
            return 400, {"error": "timestamp"}
        if (when.tzinfo is None or "." not in score["timestamp"] or (given is not None and (
                given < 0 or not most)) or score.get("activityProgress") not in {
                    "Initialized", "Started", "InProgress", "Submitted", "Completed"}
                or score.get("gradingProgress") not in {
                    "FullyGraded", "Pending", "PendingManual", "Failed", "NotReady"}):
            return 400, {"error": "malformed score"}
        if user not in {one["user_id"] for one in self.members}:
            return 404, {"error": "no such user"}
        cell = self.book.get((item["id"], user), Cell())
        if cell.timestamp and when <= datetime.fromisoformat(cell.timestamp):
            return 409, {"error": "not later than what is there"}
        ours = item["scoreMaximum"]
        self.book[item["id"], user] = Cell(
            None if given is None else given / most * ours, ours, score["gradingProgress"],
            score["timestamp"], cell.writes + 1)
        return 200, None


class _Handler(BaseHTTPRequestHandler):
    server: Any

    def log_message(self, *_: Any) -> None:
        """Say nothing."""

    def do_GET(self) -> None:
        self._serve("GET")

    def do_POST(self) -> None:
        self._serve("POST")

    def _serve(self, method: str) -> None:
        here: Platform = self.server.platform
        parts = urlsplit(self.path)
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        here.asked.append((method, parts.path))
        if here.down:
            return self.close_without_a_word()
        if here.busy:
            here.busy -= 1
            return self._say(429, {"error": "slow down"}, {"Retry-After": "0"})
        query = {name: values[0] for name, values in parse_qs(parts.query).items()}
        match method, parts.path.strip("/").split("/"):
            case "GET", ["keys"]:
                return self._say(200, {"keys": [public_half("platform")]})
            case "GET", ["auth"]:
                return self._say(200, {"post": query["redirect_uri"],
                                       "form": here.authentication(query)})
            case "POST", ["token"]:
                form = {name: values[0] for name, values in parse_qs(body.decode()).items()}
                return self._say(*here.token_for(form))
            case "GET", ["members"]:
                if self._allowed(MEMBERS):
                    self._members(query)
            case "GET", ["items"]:
                if self._allowed(ITEMS):
                    self._items(query)
            case "POST", ["items"]:
                if self._allowed(ITEMS):
                    made = {**json.loads(body),
                            "id": f"{here.address}/items/{len(here.items) + 1}?course=9"}
                    here.items.append(made)
                    if self._silent("items"):
                        return None
                    self._say(201, made)
            case "POST", ["items", number, "scores"]:
                if self._allowed(SCORE):
                    self._score(here.items[int(number) - 1], json.loads(body))
            case "GET", ["items", number, "results"]:
                if self._allowed(RESULTS):
                    item = here.items[int(number) - 1]["id"]
                    self._say(200, [
                        {"id": f"{item}/{user}", "scoreOf": item, "userId": user,
                         "resultScore": cell.points, "resultMaximum": cell.maximum}
                        for (line_item, user), cell in here.book.items()
                        if line_item == item and cell.points is not None
                        and query.get("user_id", user) == user])
            case _:
                self._say(404, {"error": "nothing here"})
        return None

    def _allowed(self, scope: str) -> bool:
        here: Platform = self.server.platform
        token = self.headers.get("Authorization", "").removeprefix("Bearer ")
        granted, until = here.tokens.get(token, ("", 0.0))
        if time.monotonic() > until:
            self._say(401, {"error": "invalid_token"})
        elif scope not in granted.split():
            self._say(403, {"error": "insufficient_scope"})
        else:
            return True
        return False

    def _members(self, query: Mapping[str, str]) -> None:
        here: Platform = self.server.platform
        first = int(query.get("from", 0))
        shown = here.members[first:first + here.page]
        more = first + here.page < len(here.members)
        query = urlencode({**query, "from": first + here.page})
        address = f"{here.elsewhere or here.address}/members?{query}"
        links = {"Link": f'<{here.address}/members?a=1,2>; rel="differences", '
                         f'<{address}>; rel="next"'} if more else {}
        self._say(200, {"id": f"{here.address}/members", "context": {"id": COURSE},
                        "members": shown}, links)

    def _items(self, query: Mapping[str, str]) -> None:
        here: Platform = self.server.platform
        asked = {"resourceId": query.get("resource_id"), "tag": query.get("tag")}
        asked = asked if here.knows_filters else {}
        self._say(200, [item for item in here.items if all(
            value in {None, item.get(name)} for name, value in asked.items())])

    def _score(self, item: dict[str, Any], score: dict[str, Any]) -> None:
        here: Platform = self.server.platform
        user = score.get("userId", "")
        if user in here.refuses:
            return self._say(here.refuses[user], {"error": "this person cannot be graded"},
                             {"Location": f"{here.address}/caught"})
        if here.silent_before.get(user, 0) > 0:
            here.silent_before[user] -= 1
            return self.close_without_a_word()
        answer = here.publish(item, score)
        if not self._silent(user):
            self._say(*answer)
        return None

    def _silent(self, what: str) -> bool:
        """Having done what was asked, say nothing; true where it was so."""
        here: Platform = self.server.platform
        if here.silent_after.get(what, 0) <= 0:
            return False
        here.silent_after[what] -= 1
        time.sleep(here.silence)
        self.close_without_a_word()
        return True

    def close_without_a_word(self) -> None:
        self.close_connection = True

    def _say(self, status: int, body: Any, head: Mapping[str, str] | None = None) -> None:
        data = b"" if body is None else json.dumps(body).encode()
        try:
            self.send_response(status)
            for name, value in {**(head or {}), "Content-Type": "application/json",
                                "Content-Length": str(len(data))}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(data)
        except OSError:
            pass  # whoever asked has gone


@contextmanager
def a_platform() -> Iterator[Platform]:
    """A platform that answers on the loopback address until the block ends."""
    with ThreadingHTTPServer(("127.0.0.1", 0), _Handler) as server:
        server.daemon_threads = True
        server.platform = platform = Platform(f"http://127.0.0.1:{server.server_address[1]}")
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield platform
        finally:
            server.shutdown()
            thread.join()
