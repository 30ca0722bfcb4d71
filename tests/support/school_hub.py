"""A school's hub for a test, set up by the Hosting page's own blocks, and how to ask it."""

from __future__ import annotations

import json
import os
import pwd
import re
import secrets
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import requests

HERE = Path(__file__).parent
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ROOT = HERE.parents[1]
BIN = Path(sys.prefix) / "bin"
PAGE = ROOT / "binder" / "README.md"
UNIT = "07_clinical_priority"
TEACHER, ANNA, BEN = PEOPLE = ("ab-teacher", "ab-anna", "ab-ben")  # accounts of the test's own
LEARNERS = (ANNA, BEN)

# The test's own lines, beside what the page says: free ports, and a key to ask the hub with.
OURS = """
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{hub_port}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy_port}"
c.ConfigurableHTTPProxy.command = ["{proxy}"]
c.JupyterHub.services.append({{"name": "test", "api_token": "{token}"}})
c.JupyterHub.load_roles.append({{"name": "test", "services": ["test"],
    "scopes": ["admin:users", "admin:servers", "tokens", "access:servers"]}})
"""
# Where no accounts can be made: homes apart, and all as the one who runs the test.
ALONE = """
c.SimpleLocalProcessSpawner.home_dir_template = "{homes}/{{username}}"
c.Spawner.args = ["--allow-root"]
"""


def blocks() -> Mapping[str, str]:
    """The Hosting section's fenced blocks, by their first line without its mark of a comment."""
    text = PAGE.read_text(encoding="utf-8")
    text = text[text.index("## JupyterHub"):]
    found = re.findall(r"^```\w*\n# (.*?)\n(.*?)^```", text, re.M | re.S)
    return dict(found)


def block(begins: str) -> str:
    """The one block whose first line begins so."""
    (found,) = [body for first, body in blocks().items() if first.startswith(begins)]
    return found


@dataclass
class Hub:
    """The running hub, everyone's homes and where the page's folders were put."""

    url: str
    token: str
    password: str
    base: Path
    own_accounts: bool
    process: Any = None
    tokens: dict[str, str] = field(default_factory=dict)
    other_hosts: list[str] = field(default_factory=list)  # that a browser here was to ask
    said: str = ""  # by the page's commands that set it up

    @property
    def course(self) -> Path:
        return self.base / "srv" / "acidbase"

    @property
    def log(self) -> Path:
        return self.base / "hub.log"

    def home(self, name: str) -> Path:
        return Path(pwd.getpwnam(name).pw_dir) if self.own_accounts else self.base / "homes" / name

    def here(self, text: str) -> str:
        """What the page says, with its folders below the test's own and its account's name."""
        for there in ("/etc/acidbase", "/srv/acidbase", "/srv/exchange", "/srv/hub"):
            text = text.replace(there, f"{self.base}{there}")
        text = text.replace("/opt/acidbase/bin", str(BIN)).replace("choose-one", self.password)
        text = re.sub(r"\bteacher\b", TEACHER, text).replace("http://127.0.0.1:8000", self.url)
        if self.own_accounts:
            return text
        # the course then stays with whoever runs the test: as root, the check rightly minds it
        return re.sub(r"chown -R \S+ ", "true ", text).replace("--check", "--check || true")

    def administrator(self, begins: str) -> str:
        """Run a shell block of the page, in a copy of the repository."""
        return run_shell(self.here(block(begins)), self.base / "copy")

    def write_local(self) -> None:
        """Write local.py as the page has it, and the test's own lines below."""
        hub_port, proxy_port = free_ports(2)
        said = block("/etc/acidbase/local.py: your own" if self.own_accounts
                     else "/etc/acidbase/local.py, for a trial")
        ours = OURS.format(hub_port=hub_port, proxy_port=proxy_port, token=self.token,
                           proxy=proxy(self.base))
        alone = "" if self.own_accounts else ALONE.format(homes=self.base / "homes")
        (self.base / "etc" / "acidbase" / "local.py").write_text(self.here(said) + ours + alone)

    def start_hub(self) -> None:
        """Start the hub by the page's command, and wait until it answers."""
        # the shell becomes the hub, so that the test can end it
        command = self.here(block("as the administrator: start")).replace("&& ", "&& exec ")
        with self.log.open("a") as said:
            self.process = subprocess.Popen(["bash", "-c", command], stdout=said,
                                            stderr=subprocess.STDOUT, env=environment())
        wait_until(lambda: self.ask("GET", "/hub/api/users").ok, self)

    def stop_hub(self) -> None:
        """End the hub, and its proxy and servers with it."""
        self.process.terminate()
        try:
            self.process.wait(60)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def ask(self, method: str, path: str, token: str = "", **more: Any) -> requests.Response:
        """Ask the hub, or somebody's server behind it."""
        head = {"Authorization": f"token {token or self.token}"}
        return requests.request(method, f"{self.url}{path}", headers=head, timeout=120, **more)

    def as_person(self, name: str, method: str, path: str, **more: Any) -> Any:
        """Ask somebody's own server as its owner; the answer as data."""
        reply = self.ask(method, f"/user/{name}{path}", self.tokens[name], **more)
        assert reply.ok, f"{method} {path} as {name}: {reply.status_code} {reply.text[:600]}"
        return reply.json()

    def start(self, name: str) -> None:
        """Start somebody's server and wait until it is ready."""
        if name not in self.tokens:
            assert self.ask("POST", f"/hub/api/users/{name}").status_code in (201, 409)
            made = self.ask("POST", f"/hub/api/users/{name}/tokens", json={"note": "test"})
            assert made.ok, made.text
            self.tokens[name] = made.json()["token"]
        reply = self.ask("POST", f"/hub/api/users/{name}/server")
        assert reply.status_code in (201, 202, 400), f"{reply.status_code} {reply.text[:600]}"
        wait_until(lambda: self.ask("GET", f"/hub/api/users/{name}").json()["servers"]
                   .get("", {}).get("ready"), self)

    def instructor(self, begins: str) -> str:
        """Run a shell block of the page in a terminal of the instructor's own server."""
        import websocket

        name = self.as_person(TEACHER, "POST", "/api/terminals")["name"]
        address = f"{self.url}/user/{TEACHER}/terminals/websocket/{name}".replace("http", "ws", 1)
        socket_ = websocket.create_connection(
            address, header=[f"Authorization: token {self.tokens[TEACHER]}"], timeout=240)
        script = self.here(block(begins)).strip().replace("\n", " && ")
        socket_.send(json.dumps(["stdin", f"{script}; echo 'END''ED' $?\r"]))
        said = ""
        while not (ended := re.search(r"ENDED (\d+)", said)):
            kind, *rest = json.loads(socket_.recv())
            said += rest[0] if kind == "stdout" else ""
        socket_.close()
        assert ended[1] == "0", said
        return said


@contextmanager
def school_hub() -> Iterator[Hub]:
    """A hub set up in a fresh copy of the repository, as the page says; taken away at the end."""
    import tempfile

    base = Path(tempfile.mkdtemp(prefix="acidbase-hub-"))
    base.chmod(0o755)
    (port,), own = free_ports(1), can_make_accounts()
    hub = Hub(f"http://127.0.0.1:{port}", secrets.token_hex(16), secrets.token_hex(8), base, own)
    try:
        (base / "copy").mkdir()
        listed = subprocess.run(["git", "ls-files", "-z", "solutions", "course"], cwd=ROOT,
                                capture_output=True, text=True, check=True).stdout
        for name in filter(None, listed.split("\0")):
            (base / "copy" / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, base / "copy" / name)
        for name in PEOPLE if own else ():
            subprocess.run(["useradd", "-m", "-d", str(base / "homes" / name), "-s", "/bin/bash",
                            name], check=True)
            subprocess.run(["chpasswd"], input=f"{name}:{hub.password}", text=True, check=True)
        for name in PEOPLE:
            (base / "homes" / name).mkdir(parents=True, exist_ok=True)
        yield hub
    finally:
        if hub.process is not None:
            for name in hub.tokens:
                with suppress(requests.RequestException):
                    hub.ask("DELETE", f"/hub/api/users/{name}/server")
            hub.stop_hub()
        for name in PEOPLE if own else ():
            subprocess.run(["userdel", name], check=False, capture_output=True)
        shutil.rmtree(base, ignore_errors=True)


def can_make_accounts() -> bool:
    """True where we are root and another account could run this very Python."""
    if os.getuid() != 0 or not shutil.which("useradd") or not shutil.which("runuser"):
        return False
    done = subprocess.run(["runuser", "-u", "nobody", "--", str(BIN / "python"), "-c",
                           "import acidbase_lib, nbgrader"], cwd="/", capture_output=True)
    return done.returncode == 0


def run_shell(script: str, folder: Path) -> str:
    done = subprocess.run(["bash", "-euo", "pipefail", "-c", script], cwd=folder, timeout=300,
                          env=environment(), capture_output=True, text=True)
    assert done.returncode == 0, f"{script}\n{done.stdout}\n{done.stderr}"
    return done.stdout + done.stderr


def environment() -> dict[str, str]:
    """As an administrator's: nothing of Jupyter's set, and the proxy on the path."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("JUPYTER")}
    proxies = str(Path(os.environ["ACIDBASE_CHP"]).parent) if "ACIDBASE_CHP" in os.environ else ""
    return {**kept, "PATH": os.pathsep.join(filter(None, [
        str(BIN), proxies, os.environ["PATH"]]))}


def process_of(name: str, what: str, owner: str = "JUPYTERHUB_USER") -> int:
    """The number of a person's process whose command line holds `what`."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if (what.encode() in (process / "cmdline").read_bytes()
                    and f"{owner}={name}\0".encode() in (process / "environ").read_bytes()):
                return int(process.name)
    raise LookupError(f"{name} has no process {what} here")


def resident(name: str, what: str) -> float:
    """The resident size of a person's process whose command line holds `what`. [MB]"""
    lines = Path(f"/proc/{process_of(name, what)}/status").read_text().splitlines()
    told = dict(line.split(":", 1) for line in lines)
    return int(told["VmRSS"].split()[0]) / 1024


def proxy(folder: Path) -> str:
    """The hub's proxy: ACIDBASE_CHP, on the path, or fetched by npm."""
    found = os.environ.get("ACIDBASE_CHP") or shutil.which("configurable-http-proxy")
    if found:
        return found
    install = ["npm", "install", "--prefix", str(folder / "npm"), "--no-save", "--no-audit",
               "--no-fund", "configurable-http-proxy@5"]
    done = subprocess.run(install, capture_output=True, text=True, timeout=120)
    if done.returncode:
        pytest.fail(f"{' '.join(install)} failed:\n{done.stderr}")
    return str(folder / "npm" / "node_modules" / ".bin" / "configurable-http-proxy")


def free_ports(count: int) -> list[int]:
    taken = [socket.socket() for _ in range(count)]
    for one in taken:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in taken]
    for one in taken:
        one.close()
    return ports


def wait_until(ready: Any, hub: Hub, seconds: float = 180) -> None:
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
