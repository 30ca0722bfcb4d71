"""nbgrader's list of assignments on a learner's server, loaded when somebody first asks for it.

It takes half a second and 15 MB of every server, and most of the time nobody opens it.
"""
from __future__ import annotations

from typing import Any

from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.utils import url_path_join
from tornado import web

# what nbgrader answers there (nbgrader.server_extensions.assignment_list)
ADDRESSES = ("/assignments", "/assignments/(?:fetch|submit|fetch_feedback)", "/courses",
             "/nbgrader_version")


class _Doorkeeper(JupyterHandler):
    """Fetches nbgrader, leaves, and has the browser ask once more."""

    def initialize(self, call: Any) -> None:
        self.call = call

    @web.authenticated
    def get(self) -> None:
        self.call()
        self.redirect(self.request.uri, status=307)  # the same method and body again

    post = get


def load_jupyter_server_extension(server: Any) -> None:
    """Stand where nbgrader's addresses are, until one is asked for."""
    router = server.web_app.default_router
    base = server.web_app.settings["base_url"]

    def call() -> None:
        if rule in router.rules:  # two may have asked at the same time
            from nbgrader.server_extensions.assignment_list import handlers

            router.rules.remove(rule)
            handlers.load_jupyter_server_extension(server)

    server.web_app.add_handlers(".*$", [
        (url_path_join(base, address), _Doorkeeper, {"call": call}) for address in ADDRESSES])
    rule = router.rules[-2]  # the last one is the server's own for all that is left


_load_jupyter_server_extension = load_jupyter_server_extension
