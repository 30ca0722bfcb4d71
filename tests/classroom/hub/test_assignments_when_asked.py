"""nbgrader's list of assignments is loaded when asked for, and answers as ever from then on."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from nbgrader.server_extensions.assignment_list import handlers
from tornado.httputil import HTTPServerRequest, RequestStartLine
from tornado.web import Application

from acidbase_lib.classroom.hub import assignments_when_asked
from acidbase_lib.classroom.hub.assignments_when_asked import (
    ADDRESSES,
    _Doorkeeper,
    load_jupyter_server_extension,
)

ASKED = ["/assignments", "/assignments/fetch", "/assignments/submit",
         "/assignments/fetch_feedback", "/courses", "/nbgrader_version"]


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    """As much of a server as both extensions touch."""
    monkeypatch.setattr(handlers, "AssignmentList", lambda parent: SimpleNamespace())
    nobody = SimpleNamespace(info=lambda *_: None)
    made = SimpleNamespace(web_app=Application(base_url="/user/anna/"), log=nobody, root_dir="/")
    load_jupyter_server_extension(made)
    return made


def answering(server: SimpleNamespace, address: str) -> tuple[type, dict[str, object]]:
    """Who answers at an address of the server, and what it was made with."""
    request = HTTPServerRequest(
        start_line=RequestStartLine("GET", f"/user/anna{address}", "HTTP/1.0"),
        connection=SimpleNamespace(set_close_callback=lambda _: None))
    found = server.web_app.find_handler(request)
    return found.handler_class, found.handler_kwargs


def test_nbgrader_answers_where_it_was_asked_and_is_loaded_once(server: SimpleNamespace) -> None:
    first = {address: answering(server, address) for address in ASKED}
    assert {who for who, _ in first.values()} == {_Doorkeeper}
    for _, made_with in first.values():  # all at the same time
        made_with["call"]()
    for address in ASKED:
        assert answering(server, address)[0] in dict(handlers.default_handlers).values()
    assert len(server.web_app.default_router.rules) == 2, "nbgrader's once, and the server's own"


def test_each_address_of_nbgraders_is_kept_for_it() -> None:
    """Should nbgrader answer at more addresses one day, a learner's page must reach them."""
    theirs = {pattern.split("/(")[0] for pattern, _ in handlers.default_handlers}
    assert theirs == {address.split("/(")[0] for address in ADDRESSES}
    assert assignments_when_asked._load_jupyter_server_extension is load_jupyter_server_extension
