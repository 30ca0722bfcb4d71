"""A real JupyterHub on the loopback address, for tests marked `services`; what is missing fails."""

from __future__ import annotations

import secrets
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from school_hub import (
    BIN,
    HUB,
    LEARNERS,
    NBGRADER,
    ROOT,
    UNIT,
    Hub,
    environment,
    free_ports,
    proxy,
    wait_until,
)

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs services of its own."""
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(pytest.mark.services)


@pytest.fixture(scope="session")
def hub(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hub]:
    """JupyterHub with its proxy, a dummy authenticator and the simple spawner."""
    base = tmp_path_factory.mktemp("hub")
    for name in ("exchange", "homes", "settings", "hub"):
        (base / name).mkdir()
    (base / "exchange").chmod(0o777)
    for learner in LEARNERS:
        (base / "homes" / learner).mkdir()
    course = base / "school"
    shutil.copytree(ROOT / "course", course / "course",
                    ignore=shutil.ignore_patterns("__pycache__", ".*"))
    shutil.copytree(ROOT / "solutions" / UNIT, course / "solutions" / UNIT)
    (base / "settings" / "nbgrader_config.py").write_text(
        NBGRADER.format(exchange=base / "exchange"))
    ports = free_ports(3)
    token, password = secrets.token_hex(16), secrets.token_hex(8)
    (base / "hub" / "jupyterhub_config.py").write_text(HUB.format(
        port=ports[0], hub_port=ports[1], proxy_port=ports[2], proxy=proxy(tmp_path_factory),
        password=password, home=base / "homes", bin=BIN, settings=base / "settings", token=token,
        path=environment(base / "settings")["PATH"]))
    log = base / "hub.log"
    with log.open("w") as said:
        process = subprocess.Popen([str(BIN / "jupyterhub")], cwd=base / "hub", stdout=said,
                                   stderr=subprocess.STDOUT, env=environment(base / "settings"))
        here = Hub(f"http://127.0.0.1:{ports[0]}", token, password, course, base / "homes",
                   base / "settings", log, process)
        try:
            wait_until(lambda: here.ask("GET", "/hub/api/users").ok, here)
            yield here
        finally:
            for learner in here.tokens:
                here.ask("DELETE", f"/hub/api/users/{learner}/server")
            process.terminate()
            try:
                process.wait(30)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
