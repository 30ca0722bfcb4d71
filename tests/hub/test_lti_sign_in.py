"""From the learning platform into a real hub and back: sign-in, forgeries, roster, grades."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import hmac
import json
import os
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import jwt
import pytest
import requests
from cryptography.hazmat.primitives import serialization
from handing_in import RIGHT, answered, hand_in_to, make_course, released, small_source
from lti_platform import (
    CLAIM,
    CLIENT,
    DEPLOYMENT,
    INSTRUCTOR,
    ISSUER,
    LEARNER,
    Platform,
    a_key,
    a_platform,
)
from school_hub import (
    BIN,
    OURS,
    Hub,
    block,
    environment,
    free_ports,
    proxy,
    run_shell,
    wait_until,
)

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.gradebook.roster import read_roster
from acidbase_lib.classroom.lti.platform import learner_id
from acidbase_lib.classroom.lti.record import opened_record
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

LEARNERS = ("29123", "ada+term@school.example", "Ünal")
LOCAL = """
c = get_config()
c.JupyterHub.bind_url = "{url}"
c.JupyterHub.spawner_class = "simple"
c.Authenticator.username_map = {{"{teacher}": "teacher"}}
"""


def of_the_page(hub: Hub, school: Platform, kind: str) -> str:
    """A block of the Hosting page, with this school's addresses in the place of the page's."""
    text = hub.here(block(f"from the learning platform, as the instructor: {kind}"))
    for there, here in (("https://platform.school.example/", f"{school.address}/"),
                        ("https://platform.school.example", ISSUER), ("10000", CLIENT),
                        ("--deployment 1 ", f"--deployment {DEPLOYMENT} "),
                        ("https://hub.school.example", hub.url), ("07_clinical_priority", "small")):
        text = text.replace(there, here)
    return text


@pytest.fixture(scope="module")
def school() -> Iterator[Platform]:
    with a_platform() as platform:
        for user in LEARNERS:
            platform.member(user, LEARNER, given_name="Given", family_name="Family")
        platform.member("teacher", INSTRUCTOR)
        yield platform


@pytest.fixture(scope="module")
def lti_hub(school: Platform) -> Iterator[Hub]:
    """A hub whose files `acidbase hub --lti` wrote, of a tool that was registered."""
    with tempfile.TemporaryDirectory(prefix="acidbase-lti-") as place:
        base = Path(place)
        port, hub_port, proxy_port = free_ports(3)
        hub = Hub(f"http://127.0.0.1:{port}", secrets.token_hex(16), "", base, False)
        make_course(hub.course, "small", small_source())
        (base / "exchange").mkdir()
        for kind in ("the key", "its settings"):
            hub.said += run_shell(of_the_page(hub, school, kind), base)
        school.tool_keys = hub.course / "lti" / "tool-jwks.json"
        run_shell(f"{BIN}/acidbase hub etc --lti --course {hub.course} --exchange {base}/exchange "
                  "--instructor teacher", base)
        (base / "etc" / "local.py").write_text(
            LOCAL.format(url=hub.url, teacher=learner_id(ISSUER, "teacher"))
            + OURS.format(hub_port=hub_port, proxy_port=proxy_port, token=hub.token,
                          proxy=proxy(base)))
        with hub.log.open("w") as said:
            hub.process = subprocess.Popen(
                [sys.executable, "-m", "jupyterhub", "-f", "etc/jupyterhub_config.py"],
                cwd=base, stdout=said, stderr=subprocess.STDOUT, env=environment())
        try:
            wait_until(lambda: hub.ask("GET", "/hub/api/users").ok, hub)
            yield hub
        finally:
            hub.stop_hub()


class Browser:
    """Keeps cookies as a browser does, for which this very machine is as good as TLS."""

    def __init__(self, hub: Hub) -> None:
        self.hub = hub
        self.session = requests.Session()

    def begin(self, user: str, **change: str) -> tuple[str, dict[str, str]]:
        """Third-party-initiated login; where the hub sends the browser, and with what."""
        asked = {"iss": ISSUER, "login_hint": user, "client_id": CLIENT,
                 "target_link_uri": f"{self.hub.url}/hub/", "lti_message_hint": "m", **change}
        reply = self.session.get(f"{self.hub.url}/hub/lti13/oauth_login", params=asked,
                                 allow_redirects=False, timeout=60)
        assert reply.status_code == 302, reply.text[:500]
        cookies = reply.headers["Set-Cookie"]
        assert cookies.count("Secure") >= 2
        assert cookies.count("SameSite=None") >= 2, "a form of another site would lose them"
        for cookie in self.session.cookies:
            cookie.secure = False  # so that it is sent to this machine without TLS
        address = reply.headers["Location"]
        return address, dict(parse_qsl(urlsplit(address).query))

    def post(self, form: Mapping[str, str]) -> requests.Response:
        """The form that the platform's page sends to the hub."""
        return self.session.post(f"{self.hub.url}/hub/lti13/oauth_callback", data=form,
                                 allow_redirects=False, timeout=60)

    def sign_in(self, user: str) -> requests.Response:
        address, _ = self.begin(user)
        told = requests.get(address, timeout=60).json()
        assert told["post"] == f"{self.hub.url}/hub/lti13/oauth_callback"
        return self.post(told["form"])

    def is_in(self) -> bool:
        """Whether the hub's own page opens without a sign-in."""
        return self.session.get(f"{self.hub.url}/hub/home", allow_redirects=False,
                                timeout=60).status_code == 200


def everyone(hub: Hub) -> set[str]:
    return {one["name"] for one in hub.ask("GET", "/hub/api/users").json()}


@pytest.fixture(scope="module")
def signed_in(lti_hub: Hub) -> dict[str, Browser]:
    """Everyone came from the platform once."""
    browsers = {user: Browser(lti_hub) for user in (*LEARNERS, "teacher")}
    for user, browser in browsers.items():
        reply = browser.sign_in(user)
        assert reply.status_code == 302, f"{reply.text[-800:]}\n{lti_hub.log.read_text()[-3000:]}"
    return browsers


def test_everyone_is_in_by_an_id_that_nbgrader_takes(lti_hub: Hub,
                                                     signed_in: dict[str, Browser]) -> None:
    assert all(browser.is_in() for browser in signed_in.values())
    assert everyone(lti_hub) == {"teacher", *(learner_id(ISSUER, user) for user in LEARNERS)}


def test_who_comes_again_is_the_same(lti_hub: Hub, signed_in: dict[str, Browser]) -> None:
    before = everyone(lti_hub)
    assert Browser(lti_hub).sign_in(LEARNERS[1]).status_code == 302
    assert everyone(lti_hub) == before


def test_a_platform_may_leave_the_client_id_out(lti_hub: Hub) -> None:
    """Core 1.3, "additional login parameters": client_id is optional."""
    assert Browser(lti_hub).begin("29123", client_id="")[1]["client_id"] == CLIENT


def test_no_address_and_no_name_of_a_person_is_kept(lti_hub: Hub,
                                                    signed_in: dict[str, Browser]) -> None:
    kept = [lti_hub.base / "jupyterhub.sqlite", *(lti_hub.course / "lti").iterdir()]
    for path in kept:
        assert b"Quill" not in path.read_bytes(), path
        assert b"school.example" not in path.read_bytes().replace(LEARNERS[1].encode(), b""), path


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="a hub that is not root")
def test_a_hub_that_is_root_writes_into_anothers_folder_as_its_owner_alone(
        school: Platform, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The owner could have put a link there; here the owner is the one who may run this Python."""
    from acidbase_lib.classroom.lti import hub_sign_in
    from acidbase_lib.classroom.lti.own_folder import other_owner

    (tmp_path / "theirs").mkdir()
    os.chown(tmp_path / "theirs", 65534, 65534)
    assert other_owner(tmp_path / "theirs") == (65534, 65534)
    assert other_owner(tmp_path) is None
    monkeypatch.setattr(hub_sign_in, "other_owner", lambda _: (os.getuid(), os.getgid()))
    monkeypatch.setattr(hub_sign_in, "keep_launch", None)  # not in the hub's own process
    ours = hub_sign_in.PlatformAuthenticator(issuer=ISSUER)
    claims = school.launch_claims("29123", "n", LEARNER)
    asyncio.run(ours._keep(tmp_path, hub_sign_in.kept_claims(claims)))
    with opened_record(tmp_path) as record:
        assert record.people() == {learner_id(ISSUER, "29123"): "29123"}
        assert len(record.contexts()) == 1
    with pytest.raises(CommandError):
        asyncio.run(ours._keep(tmp_path / "none", {"sub": "1"}))


# --- forgeries: nobody gets in, nothing is kept ---------------------------------------------------

def confused(school: Platform, claims: Mapping[str, Any]) -> str:
    """Signed with the platform's *public* key as if it were a shared secret."""
    public = a_key("platform").public_key().public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)
    parts = [base64.urlsafe_b64encode(json.dumps(part).encode()).rstrip(b"=")
             for part in ({"alg": "HS256", "kid": "platform"}, dict(claims))]
    sign = hmac.new(public, b".".join(parts), hashlib.sha256).digest()
    return b".".join([*parts, base64.urlsafe_b64encode(sign).rstrip(b"=")]).decode()


Forge = Callable[[Platform, dict[str, Any]], str]
FORGED: Mapping[str, Forge] = {
    "another key": lambda school, claims: school.id_token(claims, "forger"),
    "no signature": lambda school, claims: school.id_token(claims, algorithm="none"),
    "the public key as a secret": confused,
    "for another tool": lambda school, claims: school.id_token({**claims, "aud": "tool-8"}),
    "of another platform": lambda school, claims: school.id_token({**claims, "iss": "https://x"}),
    "another nonce": lambda school, claims: school.id_token({**claims, "nonce": "0" * 64}),
    "expired": lambda school, claims: school.id_token({**claims, "iat": 1, "exp": 2}),
    "another deployment": lambda school, claims: school.id_token(
        {**claims, f"{CLAIM}deployment_id": "deployment-2"}),
    "nobody": lambda school, claims: school.id_token(
        {name: value for name, value in claims.items() if name != "sub"}),
    "claims changed after signing": lambda school, claims: ".".join(
        part if place != 1 else base64.urlsafe_b64encode(json.dumps(
            {**claims, "sub": "teacher"}).encode()).rstrip(b"=").decode()
        for place, part in enumerate(school.id_token(claims).split("."))),
}


def turned_away(hub: Hub, browser: Browser, form: Mapping[str, str]) -> None:
    """Nobody is in, nobody is made, nothing is noted."""
    record = hub.course / "lti" / "record.db"
    before, noted = everyone(hub), record.read_bytes()
    reply = browser.post(form)
    assert 400 <= reply.status_code < 500, reply.status_code
    assert not browser.is_in()
    assert everyone(hub) == before
    assert record.read_bytes() == noted


@pytest.mark.parametrize("kind", FORGED)
def test_a_forged_launch_gets_nowhere(lti_hub: Hub, school: Platform,
                                      signed_in: dict[str, Browser], kind: str) -> None:
    browser = Browser(lti_hub)
    _, asked = browser.begin("intruder")
    claims = school.launch_claims("intruder", asked["nonce"], INSTRUCTOR)
    turned_away(lti_hub, browser, {"id_token": FORGED[kind](school, claims),
                                   "state": asked["state"]})


@pytest.mark.parametrize("kind", ["another state", "no state", "no launch", "another browser"])
def test_a_launch_that_the_hub_did_not_ask_for_gets_nowhere(
        lti_hub: Hub, school: Platform, signed_in: dict[str, Browser], kind: str) -> None:
    browser = Browser(lti_hub)
    _, asked = browser.begin("intruder")
    form = {"id_token": school.id_token(school.launch_claims("intruder", asked["nonce"], LEARNER)),
            "state": asked["state"]}
    match kind:
        case "another state":
            form["state"] = Browser(lti_hub).begin("intruder")[1]["state"]
        case "no state":
            del form["state"]
        case "no launch":
            del form["id_token"]
        case "another browser":
            browser = Browser(lti_hub)
    turned_away(lti_hub, browser, form)


def test_a_launch_is_good_once_even_with_its_cookies(lti_hub: Hub, school: Platform,
                                                     signed_in: dict[str, Browser]) -> None:
    first, thief = Browser(lti_hub), Browser(lti_hub)
    _, asked = first.begin(LEARNERS[0])
    thief.session.cookies.update(first.session.cookies)
    form = {"id_token": school.id_token(school.launch_claims(LEARNERS[0], asked["nonce"], LEARNER)),
            "state": asked["state"]}
    assert first.post(form).status_code == 302
    turned_away(lti_hub, thief, form)


def test_the_forger_of_the_test_would_get_in_with_the_right_key(lti_hub: Hub,
                                                                school: Platform) -> None:
    """Else a hub that refuses everything would pass as well."""
    browser = Browser(lti_hub)
    _, asked = browser.begin(LEARNERS[0])
    claims = school.launch_claims(LEARNERS[0], asked["nonce"], LEARNER)
    assert jwt.decode(school.id_token(claims), options={"verify_signature": False}) == claims
    assert browser.post({"id_token": school.id_token(claims),
                         "state": asked["state"]}).status_code == 302


# --- and back -------------------------------------------------------------------------------------

def test_who_signed_in_is_on_the_roster_and_gets_the_grade(
        lti_hub: Hub, school: Platform, signed_in: dict[str, Browser]) -> None:
    course = lti_hub.course
    with opened_record(course / "lti") as record:
        assert record.people() == {learner_id(ISSUER, user): user for user in LEARNERS}
    on_it = everyone(lti_hub) - {"teacher"}
    blank = released(AssignmentSource.from_notebook(small_source(), "small"))
    for number, learner in enumerate(sorted(on_it), 1):
        hand_in_to(course, learner, answered(blank, dict(list(RIGHT.items())[:number])))
    mark_class(course, "small")
    said = run_shell(of_the_page(lti_hub, school, "list and grades"), lti_hub.base)
    assert "Learners: 3 sent." in said
    assert not school.scores, "the page's command is the dry run"
    assert {line.learner for line in read_roster(course / "course" / "roster.csv")} == on_it
    run_shell(f"{BIN}/acidbase lti grades small --send --course {course}", lti_hub.base)
    rows = {row.learner: row.score for row in grades_table(course, "small")}
    assert school.points() == {user: rows[learner_id(ISSUER, user)] for user in LEARNERS}
    assert len(set(school.points().values())) == 3
