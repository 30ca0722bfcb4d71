"""Learners signed in at once on a hub of this machine's own: memory of each, and no answer lost.

    ACIDBASE_CHP=.../configurable-http-proxy python -m tests.benchmarks.hub_load --learners 30

On the loopback address alone, two sign-ins at a time; everyone is one system user, in homes apart.
Then the hub, its proxy, servers, kernels and disks give up while everyone answers (`hub_faults`).
"""
from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
import school_hub
from school_hub import PAGE, Hub, resident

from tests.benchmarks.hub_faults import HEAD, KERNEL, SERVER, Learner, all_faults, small_disks

UNIT = "02_primary_disorder"
MOST = 60
SLACK = 0.10  # how far a measured size may lie outside what the page states


def one_learner(hub: Hub, name: str) -> tuple[Learner, float]:
    """Sign in, open a unit, run all of it, keep an answer; how long it took. [s]"""
    started = time.monotonic()
    hub.start(name)
    path = f"{UNIT}/{UNIT}.ipynb"
    session = hub.as_person(name, "POST", "/api/sessions", data=json.dumps(
        {"path": path, "type": "notebook", "name": UNIT, "kernel": {"name": "python3"}}))
    page = hub.as_person(name, "GET", f"/api/contents/{path}")["content"]
    run_all(hub, name, session["kernel"]["id"], page["cells"])
    cell = next(one for one in page["cells"] if one["source"].startswith("%%chart"))
    learner = Learner(hub, name, path, page, cell)
    if not learner.answer():
        raise AssertionError(f"{name} could not keep a first answer: {learner.refusals}")
    return learner, time.monotonic() - started


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


def stated(what: str) -> tuple[int, int]:
    """The sizes that the Hosting page states. [MB]"""
    lowest, highest = re.search(rf"{what} (\d+) to (\d+) MB", " ".join(
        PAGE.read_text(encoding="utf-8").split())).groups()
    return int(lowest), int(highest)


def sizes_as_stated(names: Sequence[str]) -> bool:
    """Print the memory of everyone's server and kernel; whether the page states it, within 10 %."""
    well, total = True, 0.0
    for process, words in ((SERVER, "a learner's server"), (KERNEL, "its kernel")):
        sizes = [resident(name, process) for name in names]
        low, high = stated(words)
        as_said = low * (1 - SLACK) <= min(sizes) and max(sizes) <= high * (1 + SLACK)
        print(f"{words}: median {statistics.median(sizes):.0f} MB, {min(sizes):.0f} to "
              f"{max(sizes):.0f} MB; the page states {low} to {high} MB, "
              f"{'within' if as_said else 'NOT within'} 10 %")
        well, total = well and as_said, total + sum(sizes)
    print(f"{len(names)} at once: {total:.0f} MB resident")
    return well


def load() -> str:
    """How busy the machine is, to be told beside each time."""
    return f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"


def main() -> int:
    """Start the hub, let everyone in, print the memory of each, let each part give up."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--learners", type=int, default=30)
    asked.add_argument("--minutes", type=float, default=20.0, help="then nobody else is let in")
    asked.add_argument("--no-faults", action="store_true", help="memory alone")
    given = asked.parse_args()
    names = [f"ab-load-{number}" for number in range(min(given.learners, MOST))]
    school_hub.can_make_accounts = lambda: False  # homes apart will do here
    print(f"at the start: {load()}")
    with school_hub.school_hub() as hub:
        for name in names:
            (hub.base / "homes" / name).mkdir(parents=True)
        with small_disks(hub.base / "homes", names[1::10]) as small:
            hub.administrator("as the administrator, there")
            hub.write_local()
            hub.start_hub()
            with ThreadPoolExecutor(2) as two:
                until = time.monotonic() + 60 * given.minutes
                came = list(filter(None, two.map(
                    lambda name: one_learner(hub, name) if time.monotonic() < until else None,
                    names)))
            learners, seconds = [one for one, _ in came], [took for _, took in came]
            well = sizes_as_stated([one.name for one in learners])
            print(f"a sign-in with a whole unit run: median {statistics.median(seconds):.0f} s, "
                  f"at most {max(seconds):.0f}; {load()}\n\n{HEAD}\n{'|---' * 6}|")
            lost = 0
            for line, gone in () if given.no_faults else all_faults(hub, learners, small):
                print(line, flush=True)
                lost += gone
            here = sum(one.found() for one in learners)
            print(f"\nanswers lost: {lost}; at the end {here} of {len(learners)} last answers "
                  f"stand; {load()}")
    return 0 if well and not lost and here == len(learners) else 1


if __name__ == "__main__":
    sys.exit(main())
