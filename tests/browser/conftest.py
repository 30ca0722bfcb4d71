"""A real JupyterLab, a real Chromium and the accessibility checker, for tests marked `browser`.

Missing tools fail these tests; they never skip them. Chromium is Debian's package; axe-core comes
by ``npm install --prefix tests/browser --no-save --no-audit --no-fund axe-core@4.14.1``, which the
fixture runs itself where neither that folder nor ACIDBASE_AXE (its axe.min.js) is there.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from notebooks import LAG, far_kernel

from acidbase_lib.teaching.widgets import opens_ready

HERE = Path(__file__).parent
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
         "--disable-component-update", "--disable-sync"]
AXE_VERSION = "4.14.1"
AXE = Path(os.environ.get("ACIDBASE_AXE") or HERE / "node_modules/axe-core/axe.min.js")
INSTALL_AXE = ["npm", "install", "--prefix", str(HERE), "--no-save", "--no-audit", "--no-fund",
               f"axe-core@{AXE_VERSION}"]
SLOWER = float(os.environ.get("ACIDBASE_SLOWER", "1"))  # a browser so many times slower finds races
SHOTS = os.environ.get("ACIDBASE_SHOTS")  # a folder that keeps the pictures


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs a browser."""
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(pytest.mark.browser)


@dataclass(frozen=True)
class Server:
    """A running Jupyter server and the folder it serves."""

    url: str
    token: str
    root: Path
    inside: str = ""  # the part of an address that leads to `root`

    def lab(self, path: str) -> str:
        """The address of a notebook in JupyterLab, on its own."""
        return f"{self.url}/lab/tree/{self.inside}{path}?token={self.token}&reset"

    def notebook(self, path: str) -> str:
        """The address of a notebook in Notebook 7."""
        return f"{self.url}/notebooks/{self.inside}{path}?token={self.token}"

    def ask(self, what: str, method: str = "GET") -> bytes:
        """What the server's own interface replies."""
        asked = urllib.request.Request(f"{self.url}/api/{what}?token={self.token}", method=method)
        with urllib.request.urlopen(asked, timeout=60) as reply:
            return bytes(reply.read())


@contextmanager
def _one_test(running: Server) -> Iterator[Server]:
    """A folder of one test's own: a second try finds nothing of the first, and no kernel stays."""
    root = Path(tempfile.mkdtemp(dir=running.root))
    yield replace(running, root=root, inside=f"{root.name}/")
    for one in json.loads(running.ask("sessions")):
        with suppress(urllib.error.HTTPError):  # it ended by itself meanwhile
            running.ask(f"sessions/{one['id']}", "DELETE")


@pytest.fixture(scope="session")
def jupyter(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """JupyterLab and Notebook 7 in one server, on a free port, with settings of its own."""
    with running_server(tmp_path_factory.mktemp("jupyter")) as running:
        yield running


@pytest.fixture
def server(jupyter: Server) -> Iterator[Server]:
    """The running server, with a folder of this test's own."""
    with _one_test(jupyter) as own:
        yield own


@pytest.fixture(scope="session")
def bare_jupyter(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The same without the kit's front-end extension."""
    home = tmp_path_factory.mktemp("bare")
    (home / "without" / "labconfig").mkdir(parents=True)
    (home / "without" / "labconfig" / "page_config.json").write_text(
        json.dumps({"disabledExtensions": {opens_ready.NAME: True}}))
    with running_server(home, JUPYTER_CONFIG_PATH=str(home / "without")) as running:
        yield running


@pytest.fixture
def bare_server(bare_jupyter: Server) -> Iterator[Server]:
    """The server without the extension, with a folder of this test's own."""
    with _one_test(bare_jupyter) as own:
        yield own


@contextmanager
def running_server(home: Path, **environment: str) -> Iterator[Server]:
    """Start a server of its own; the kit's extension is there, however the kit is installed."""
    root = home / "course"
    root.mkdir()
    shutil.copytree(HERE / "settings", home / "settings")
    token = secrets.token_hex(16)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    folders = {name: str(home / name.lower()) for name in (
        "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR",
        "JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR")}
    command = [
        sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
        f"--ServerApp.port={port}", "--ServerApp.port_retries=0", "--ServerApp.ip=127.0.0.1",
        f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={root}",
        "--LabApp.expose_app_in_browser=True", "--LabApp.check_for_updates_class="
        "jupyterlab.NeverCheckForUpdate", f"--LabApp.app_settings_dir={home / 'settings'}",
        "--JupyterNotebookApp.expose_app_in_browser=True",
        f"--JupyterNotebookApp.app_settings_dir={home / 'settings'}",
    ]
    log = (home / "server.log").open("w")
    process = subprocess.Popen(command, stdout=log, stderr=subprocess.STDOUT, cwd=root,
                               env={**os.environ, "JUPYTER_PATH": str(opens_ready.jupyter_path()),
                                    **folders, **environment})
    url = f"http://127.0.0.1:{port}"
    try:
        _wait_for(lambda: _answers(f"{url}/api/status?token={token}"), process, home)
        yield Server(url, token, root)
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        log.close()


def _answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=2) as reply:
            return bool(reply.status == 200)
    except OSError:
        return False


def _wait_for(ready: Callable[[], bool], process: subprocess.Popen[bytes], home: Path) -> None:
    deadline = time.monotonic() + 60
    while not ready():
        if process.poll() is not None or time.monotonic() > deadline:
            pytest.fail("JupyterLab did not start:\n" + (home / "server.log").read_text()[-3000:])
        time.sleep(0.2)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Debian's Chromium under Playwright."""
    from playwright.sync_api import expect, sync_playwright

    if not Path(CHROMIUM).exists():
        pytest.fail(f"No Chromium at {CHROMIUM}: apt-get install chromium, or set CHROMIUM.")
    expect.set_options(timeout=20_000 * SLOWER)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    """A fresh window, as wide as a laptop's."""
    yield from _window(chromium, 1280)


@pytest.fixture
def phone(chromium: Any) -> Iterator[Any]:
    """A fresh window of another visit, as narrow as a phone's."""
    yield from _window(chromium, 390)


@pytest.fixture
def hand_held(chromium: Any) -> Iterator[Any]:
    """A phone with no mouse and no keys but those on its screen."""
    yield from _window(chromium, 390, has_touch=True, is_mobile=True)


def _window(chromium: Any, width: int, **more: Any) -> Iterator[Any]:
    context = chromium.new_context(viewport={"width": width, "height": 900}, **more)
    context.set_default_timeout(20_000 * SLOWER)
    if LAG:
        far_kernel(context, LAG)
    page = context.new_page()
    if SLOWER > 1:
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    yield page
    context.close()


@pytest.fixture(scope="session")
def axe_source() -> str:
    """The accessibility checker's own text."""
    if not AXE.exists():
        done = subprocess.run(INSTALL_AXE, capture_output=True, text=True, timeout=120)
        if done.returncode or not AXE.exists():
            pytest.fail(f"axe-core is missing and {' '.join(INSTALL_AXE)} failed:\n{done.stderr}")
    return AXE.read_text(encoding="utf-8")


@pytest.fixture
def violations(axe_source: str) -> Callable[..., list[str]]:
    """What the accessibility checker finds wrong in part of a page, one line each."""

    def check(page: Any, part: str) -> list[str]:
        page.evaluate(f"window.axe || (() => {{ {axe_source} }})()")
        found = page.evaluate(
            "part => axe.run({include: [part]}, {resultTypes: ['violations']})", part)
        return [f"{one['id']} ({one['impact']}): {node['html'][:160]}"
                for one in found["violations"] for node in one["nodes"]]

    return check


@pytest.fixture
def shot(tmp_path: Path) -> Callable[..., Path]:
    """Take a picture; kept where ACIDBASE_SHOTS names a folder."""
    folder = Path(SHOTS) if SHOTS else tmp_path
    folder.mkdir(parents=True, exist_ok=True)

    def take(page: Any, name: str, part: str | None = None) -> Path:
        path = folder / f"{name}.png"
        (page.locator(part).first if part else page).screenshot(path=str(path))
        assert path.stat().st_size > 1000
        return path

    return take
