"""Learners signed in at once on a hub of this machine's own: memory of each, and no answer lost.

    ACIDBASE_CHP=.../configurable-http-proxy python -m tests.benchmarks.hub_load --learners 30

On the loopback address alone, two sign-ins at a time; everyone is one system user, in homes apart.
"""
from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
import school_hub
from school_hub import Hub, resident

UNIT = "02_primary_disorder"
MOST = 60
SERVER, KERNEL = "jupyterhub-singleuser", "ipykernel_launcher"


def one_learner(hub: Hub, name: str) -> float:
    """Sign in, open a unit, run all of it, keep an answer. [s]"""
    started = time.monotonic()
    hub.start(name)
    path = f"{UNIT}/{UNIT}.ipynb"
    session = hub.as_person(name, "POST", "/api/sessions", data=json.dumps(
        {"path": path, "type": "notebook", "name": UNIT, "kernel": {"name": "python3"}}))
    model = hub.as_person(name, "GET", f"/api/contents/{path}")
    run_all(hub, name, session["kernel"]["id"], model["content"]["cells"])
    cell = next(one for one in model["content"]["cells"] if one["source"].startswith("%%chart"))
    cell["source"] += f"\nkept by {name}"
    hub.as_person(name, "PUT", f"/api/contents/{path}", data=json.dumps(
        {"type": "notebook", "format": "json", "content": model["content"]}))
    return time.monotonic() - started


def run_all(hub: Hub, name: str, kernel: str, cells: list[dict[str, str]]) -> None:
    """Run every code cell of a unit in its kernel, as opening it does."""
    import websocket

    address = f"{hub.url}/user/{name}/api/kernels/{kernel}/channels".replace("http", "ws", 1)
    line = websocket.create_connection(
        address, header=[f"Authorization: token {hub.tokens[name]}"], timeout=180)
    for number, cell in enumerate(one for one in cells if one["cell_type"] == "code"):
        asked = f"{name}-{number}"
        line.send(json.dumps({"channel": "shell", "header": {
            "msg_id": asked, "msg_type": "execute_request", "username": name, "session": name,
            "version": "5.3"}, "parent_header": {}, "metadata": {}, "content": {
                "code": cell["source"], "silent": False, "store_history": True,
                "allow_stdin": False, "stop_on_error": False}}))
        while True:
            said = json.loads(line.recv())
            if (said["msg_type"] == "execute_reply"
                    and said["parent_header"].get("msg_id") == asked):
                break
    line.close()


def main() -> int:
    """Start the hub, let everyone in, print the memory of each, look for each one's answer."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--learners", type=int, default=30)
    asked.add_argument("--minutes", type=float, default=20.0, help="then nobody else is let in")
    given = asked.parse_args()
    count = min(given.learners, MOST)
    names = [f"ab-load-{number}" for number in range(count)]
    school_hub.can_make_accounts = lambda: False  # homes apart will do here
    with school_hub.school_hub() as hub:
        for name in names:
            (hub.base / "homes" / name).mkdir(parents=True)
        hub.administrator("as the administrator, there")
        hub.write_local()
        hub.start_hub()
        with ThreadPoolExecutor(2) as two:
            until = time.monotonic() + 60 * given.minutes
            taken = list(two.map(lambda name: one_learner(hub, name)
                                 if time.monotonic() < until else None, names))
        names = [name for name, took in zip(names, taken, strict=True) if took is not None]
        seconds = [took for took in taken if took is not None]
        servers = [resident(name, SERVER) for name in names]
        kernels = [resident(name, KERNEL) for name in names]
        for what, sizes in (("server", servers), ("kernel", kernels)):
            print(f"{what}: median {statistics.median(sizes):.0f} MB, "
                  f"{min(sizes):.0f} to {max(sizes):.0f} MB")
        print(f"{len(names)} at once: {sum(servers) + sum(kernels):.0f} MB resident; a sign-in "
              f"with a whole unit run took {statistics.median(seconds):.0f} s, at most "
              f"{max(seconds):.0f}")
        lost = [name for name in names if f"kept by {name}" not in
                (hub.base / "homes" / name / UNIT / f"{UNIT}.ipynb").read_text(encoding="utf-8")]
        print(f"answers lost: {len(lost)}")
        return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
