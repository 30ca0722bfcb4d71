"""A school's hub for a test: its settings, its proxy, and how to ask it for something."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import requests

HERE = Path(__file__).parent
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ROOT = HERE.parents[1]
BIN = Path(sys.prefix) / "bin"
UNIT = "02_primary_disorder"
LEARNERS = ("anna", "ben")

# What a school writes; the ports and the two names are the test's own.
HUB = """
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{hub_port}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy_port}"
c.ConfigurableHTTPProxy.command = ["{proxy}"]
c.JupyterHub.authenticator_class = "dummy"
c.DummyAuthenticator.password = "{password}"
c.Authenticator.allowed_users = {{"anna", "ben"}}
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = "{home}/{{username}}"
c.Spawner.cmd = ["{bin}/jupyterhub-singleuser"]
c.Spawner.args = ["--allow-root", "--LabApp.expose_app_in_browser=True"]
c.Spawner.start_timeout = c.Spawner.http_timeout = 120
c.Spawner.environment = {{"JUPYTER_CONFIG_PATH": "{settings}", "PATH": "{path}"}}
c.JupyterHub.services = [{{"name": "test", "api_token": "{token}"}}]
c.JupyterHub.load_roles = [{{"name": "test", "services": ["test"],
    "scopes": ["admin:users", "admin:servers", "tokens", "access:servers"]}}]
"""

# The one setting for learner ids, and where the exchange is.
NBGRADER = """
import os
c = get_config()
c.CourseDirectory.course_id = "acidbase"
c.Exchange.root = "{exchange}"
if os.environ.get("JUPYTERHUB_USER"):
    c.CourseDirectory.student_id = os.environ["JUPYTERHUB_USER"]
"""


@dataclass
class Hub:
    """The running hub, the instructor's course and everyone's homes."""

    url: str
    token: str
    password: str
    course: Path
    homes: Path
    settings: Path
    log: Path
    process: Any
    tokens: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, token: str = "", **more: Any) -> requests.Response:
        """Ask the hub, or a learner's server behind it."""
        head = {"Authorization": f"token {token or self.token}"}
        return requests.request(method, f"{self.url}{path}", headers=head, timeout=120, **more)

    def as_learner(self, name: str, method: str, path: str, **more: Any) -> Any:
        """Ask a learner's own server as that learner; the answer as data."""
        reply = self.ask(method, f"/user/{name}{path}", self.tokens[name], **more)
        assert reply.ok, f"{method} {path} as {name}: {reply.status_code} {reply.text[:600]}"
        return reply.json()

    def start(self, name: str) -> None:
        """Start a learner's server and wait until it is ready."""
        made = self.ask("POST", f"/hub/api/users/{name}/tokens", json={"note": "test"})
        assert made.ok, made.text
        self.tokens[name] = made.json()["token"]
        assert self.ask("POST", f"/hub/api/users/{name}/server").status_code in (201, 202)
        wait_until(lambda: self.ask("GET", f"/hub/api/users/{name}").json()["servers"]
              .get("", {}).get("ready"), self)

    def instructor(self, *words: str) -> str:
        """Run a command in the instructor's course folder, outside the hub."""
        done = subprocess.run([str(BIN / words[0]), *words[1:]], cwd=self.course / "course",
                              env=environment(self.settings), capture_output=True, text=True,
                              timeout=180)
        assert done.returncode == 0, f"{' '.join(words)}:\n{done.stdout}\n{done.stderr}"
        return done.stdout + done.stderr


def kernel_memory(learner: str) -> float:
    """The resident size of a learner's kernel. [MB]"""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if (b"ipykernel_launcher" in (process / "cmdline").read_bytes()
                    and f"JUPYTERHUB_USER={learner}\0".encode()
                    in (process / "environ").read_bytes()):
                lines = (process / "status").read_text().splitlines()
                told = dict(line.split(":", 1) for line in lines)
                return int(told["VmRSS"].split()[0]) / 1024
        except OSError:
            continue
    raise LookupError(f"{learner} has no kernel here")


def environment(settings: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("JUPYTER")}
    return {**kept, "JUPYTER_CONFIG_PATH": str(settings),
            "PATH": os.pathsep.join([str(BIN), os.environ["PATH"]])}


def proxy(folders: pytest.TempPathFactory) -> str:
    """The hub's proxy: ACIDBASE_CHP, on the path, or fetched by npm."""
    found = os.environ.get("ACIDBASE_CHP") or shutil.which("configurable-http-proxy")
    if found:
        return found
    home = folders.mktemp("npm")
    install = ["npm", "install", "--prefix", str(home), "--no-save", "--no-audit", "--no-fund",
               "configurable-http-proxy@5"]
    done = subprocess.run(install, capture_output=True, text=True, timeout=120)
    if done.returncode:
        pytest.fail(f"{' '.join(install)} failed:\n{done.stderr}")
    return str(home / "node_modules" / ".bin" / "configurable-http-proxy")


def free_ports(count: int) -> list[int]:
    taken = [socket.socket() for _ in range(count)]
    for one in taken:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in taken]
    for one in taken:
        one.close()
    return ports


def wait_until(ready: Any, hub: Hub, seconds: float = 120) -> None:
    deadline = time.monotonic() + seconds
    while True:
        try:
            if ready():
                return
        except requests.ConnectionError:
            pass
        if hub.process.poll() is not None or time.monotonic() > deadline:
            pytest.fail(f"the hub is not ready:\n{hub.log.read_text()[-3000:]}")
        time.sleep(0.5)
