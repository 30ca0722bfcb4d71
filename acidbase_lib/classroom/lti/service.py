"""Asking a platform's services: a token for each scope, time limits, pages, refusals."""
from __future__ import annotations

import http.client
import json
import re
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Any
from urllib.parse import urlencode, urljoin, urlsplit

from .platform import Platform, is_safe
from .tool_key import ToolKey

LIMIT = 20.0  # for one answer [s]
TRIES = 3
PAUSES = (1.0, 3.0)  # between tries [s]
LONGEST_PAUSE = 60.0  # that a platform may ask for [s]
LARGEST = 20_000_000  # answer [bytes]
MOST_PAGES = 1_000
EARLY = 60.0  # before a token's end a new one is asked for [s]
_JWT_BEARER = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"
_LINK = re.compile(r"<([^>]*)>([^<]*)")
_NEXT = re.compile(r";\s*rel\s*=\s*(?:\"(?:[^\"]*\s)?next(?:\s[^\"]*)?\"|next\b)", re.IGNORECASE)


class ServiceError(RuntimeError):
    """A platform's service cannot be used; the text says which and why."""


class RefusedError(ServiceError):
    """The platform said no: it has changed nothing."""

    def __init__(self, status: int, told: str) -> None:
        super().__init__(f"the platform answered {status}{f': {told}' if told else ''}")
        self.status = status


class NoAnswerError(ServiceError):
    """Nothing, or nothing sensible, came back: whether anything was changed is not known."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a service said, and where its next page is; empty after the last."""

    body: Any
    next_page: str = ""


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """A token is never carried to where an answer points."""

    def redirect_request(self, *given: Any) -> None:
        """Follow nothing."""


class PlatformService:
    """A platform's services, asked in the tool's name.

    Parameters
    ----------
    platform : Platform
        Where, and as whom.
    key : ToolKey
        What is signed with.
    limit : float
        How long one answer is waited for. [s]
    pause : callable
        Waits for some seconds.
    """

    def __init__(self, platform: Platform, key: ToolKey, *, limit: float = LIMIT,
                 pause: Callable[[float], object] = time.sleep) -> None:
        self._platform, self._key, self._limit, self.pause = platform, key, limit, pause
        self._tokens: dict[str, tuple[str, float]] = {}
        self._opener = urllib.request.build_opener(_NoRedirect)

    def get(self, address: str, scope: str, media: str) -> Answer:
        """Ask for something; asked again where no answer comes, for that changes nothing."""
        return self._patiently(lambda: self._authorized(address, scope, {"Accept": media}))

    def pages(self, address: str, scope: str, media: str) -> Iterator[Any]:
        """Yield the body of each page, to the last (``Link`` with ``rel="next"``, RFC 8288).

        Raises
        ------
        ServiceError
            A page points to another computer or back, or there is no end of them.
        """
        seen: set[str] = set()
        first = urlsplit(address)
        while address:
            if address in seen or len(seen) >= MOST_PAGES:
                raise ServiceError(f"the pages of {first.netloc}{first.path} have no end")
            seen.add(address)
            answer = self.get(address, scope, media)
            yield answer.body
            address = answer.next_page
            if address and urlsplit(address)[:2] != first[:2]:
                raise ServiceError(f"a page of {first.netloc}{first.path} goes on at another "
                                   f"computer, {urlsplit(address).netloc}; it is not followed")

    def post(self, address: str, scope: str, media: str, body: Mapping[str, Any]) -> Answer:
        """Send something once; whoever calls decides whether it may be sent again.

        Raises
        ------
        RefusedError
            The platform said no.
        NoAnswerError
            It may have arrived or not.
        """
        return self._authorized(address, scope, {"Content-Type": media, "Accept": "*/*"},
                                json.dumps(body).encode())

    def _authorized(self, address: str, scope: str, head: Mapping[str, str],
                    data: bytes | None = None) -> Answer:
        for last in (False, True):
            try:
                return self._ask(address, {
                    **head, "Authorization": f"Bearer {self._token(scope)}"}, data)
            except RefusedError as refused:
                if refused.status != 401 or last:
                    raise
                self._tokens.pop(scope, None)  # it has ended before its time
        raise AssertionError

    def _token(self, scope: str) -> str:
        """An access token for a scope (RFC 6749 section 4.4), kept until shortly before its end."""
        known = self._tokens.get(scope)
        if known and time.monotonic() < known[1]:
            return known[0]

        def ask() -> Answer:  # an assertion is good once: a new one at each try
            form = {"grant_type": "client_credentials", "client_assertion_type": _JWT_BEARER,
                    "client_assertion": self._key.assertion(self._platform), "scope": scope}
            return self._ask(self._platform.token, {
                "Content-Type": "application/x-www-form-urlencoded",
                "Accept": "application/json"}, urlencode(form).encode())

        try:
            told = self._patiently(ask).body
        except NoAnswerError as silence:  # told apart from a score that may have arrived
            raise ServiceError(f"the platform gives no token: {silence}") from None
        except RefusedError as refused:
            raise ServiceError(
                f"the platform gives no token for {scope.rsplit('/', 1)[-1]} ({refused}): see that "
                "it was given this tool's public key, that the client id is right, and that the "
                "service is switched on for the tool") from None
        token = told.get("access_token") if isinstance(told, dict) else None
        if not isinstance(token, str) or not re.fullmatch(r"[\x21-\x7e]+", token):
            raise ServiceError(f"{self._platform.token} answered without an access token")
        lasts = told.get("expires_in", 3600)
        lasts = float(lasts) if isinstance(lasts, int | float) else 3600.0
        self._tokens[scope] = token, time.monotonic() + max(lasts - EARLY, lasts / 2)
        return token

    def _patiently(self, ask: Callable[[], Answer]) -> Answer:
        for number in range(TRIES):
            try:
                return ask()
            except NoAnswerError:
                if number == TRIES - 1:
                    raise
                self.pause(PAUSES[number])
        raise AssertionError

    def _ask(self, address: str, head: Mapping[str, str], data: bytes | None) -> Answer:
        """Ask once; told to wait (429), wait and ask once more: nothing was done meanwhile."""
        if not is_safe(address):
            raise ServiceError(f"{address[:120]!r} is no address by TLS; nothing was sent there")
        request = urllib.request.Request(address, data, dict(head))
        for last in (False, True):
            try:
                with self._opener.open(request, timeout=self._limit) as reply:
                    return Answer(_data(reply, address), _next_page(reply.headers, address))
            except urllib.error.HTTPError as refused:
                with refused:
                    if refused.code == 429 and not last:
                        asked = refused.headers.get("Retry-After", "")
                        self.pause(min(LONGEST_PAUSE, float(asked) if asked.isdecimal() else 1.0))
                        continue
                    told = _told(refused)
                    if refused.code >= 500:
                        raise NoAnswerError(f"{urlsplit(address).netloc} answered {refused.code}"
                                            f"{f': {told}' if told else ''}") from None
                    raise RefusedError(refused.code, told) from None
            except (OSError, http.client.HTTPException) as error:
                why = getattr(error, "reason", None) or error
                raise NoAnswerError(f"{urlsplit(address).netloc} did not answer "
                                    f"({why or type(error).__name__})") from None
        raise AssertionError


def _data(reply: IO[bytes], address: str) -> Any:
    body = reply.read(LARGEST + 1)
    if len(body) > LARGEST:
        raise ServiceError(f"{urlsplit(address).netloc} answered with more than {LARGEST:,} bytes")
    try:
        return json.loads(body) if body.strip() else None
    except ValueError:
        return None  # a page for people: whoever needs data will miss it


def _told(refused: IO[bytes]) -> str:
    """A refusal's own words, short and on one line; never a page for people."""
    try:
        text = refused.read(2_000).decode("utf-8", "replace").strip()
    except (OSError, http.client.HTTPException):
        return ""
    try:
        found = json.loads(text)
        words = [str(found[name]) for name in ("error", "error_description", "message", "detail")
                 if isinstance(found.get(name), str)]
        text = ", ".join(words)
    except (ValueError, AttributeError):
        text = "" if text.startswith("<") else text
    return " ".join(text.split())[:120]


def _next_page(head: Any, address: str) -> str:
    for line in head.get_all("Link") or ():
        for target, parameters in _LINK.findall(line):
            if _NEXT.search(parameters):
                return str(urljoin(address, target))
    return ""
