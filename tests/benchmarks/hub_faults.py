"""A hub's parts give up while learners answer: what was kept is kept, what was refused is told.

Run by `python -m tests.benchmarks.hub_load`. A learner here does what a learner's page does: it
holds the answer, says it is kept when the server said so, and tries again when it was refused.
"""
from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import requests
from school_hub import Hub, process_of

SERVER, KERNEL = "jupyterhub.singleuser", "ipykernel_launcher"
HEAD = ("| what gave up | learners | kept while it lasted | refused, then kept | lost "
        "| all answer again after |")
DISK = 12_000_000  # of a learner whose disk becomes full [bytes]
FILLER = "holiday.mp4"
_PATIENCE = 240  # for an answer to be kept again [s]


@dataclass
class Learner:
    """Somebody at work: the page held in the browser, and what the server said it kept."""

    hub: Hub
    name: str
    path: str
    page: dict[str, Any]
    cell: dict[str, Any]
    tries: int = 0
    kept: int = 0  # the last try that the server said it kept
    refusals: list[str] = field(default_factory=list)

    def answer(self) -> bool:
        """Write another answer; whether the server said that it is kept."""
        self.tries += 1
        first = self.cell["source"].split("\nkept by")[0]
        self.cell["source"] = f"{first}\nkept by {self.name}: {self.tries}."
        said = self.ask("PUT", data=json.dumps(
            {"type": "notebook", "format": "json", "content": self.page}))
        if said is not None and said.ok:
            self.kept = self.tries
            return True
        self.refusals.append("no reply" if said is None else f"{said.status_code}")
        return False

    def found(self) -> bool:
        """Whether the answer that was kept last, or one after it, stands in the learner's file."""
        said = self.ask("GET")
        stands = re.search(rf"kept by {self.name}: (\d+)\.", said.text if said else "")
        return stands is not None and int(stands[1]) >= self.kept

    def ask(self, method: str, **more: Any) -> requests.Response | None:
        """Ask the learner's own server; None where nobody answers."""
        with suppress(requests.RequestException):
            return requests.request(
                method, f"{self.hub.url}/user/{self.name}/api/contents/{self.path}",
                headers={"Authorization": f"token {self.hub.tokens[self.name]}"},
                timeout=60, allow_redirects=False, **more)
        return None


def told(what: str, learners: Sequence[Learner], touched: Sequence[Learner],
         strike: Callable[[], None], mend: Callable[[], None]) -> tuple[str, int]:
    """Let a part give up while everyone answers, mend it; a line of the table, answers lost."""
    before = {one.name: one.tries for one in learners}
    refused_before = {one.name: len(one.refusals) for one in learners}
    ended = threading.Event()
    halves = [threading.Thread(target=_go_on, args=(learners[first::2], ended)) for first in (0, 1)]
    for one in halves:
        one.start()
    try:
        time.sleep(3)
        strike()
        struck = time.monotonic()
        time.sleep(3)
        mend()
    finally:
        ended.set()
        for one in halves:
            one.join()
    lost = [one.name for one in learners if not _is_there(one)]  # before anyone tries again
    for one in learners:
        until = time.monotonic() + _PATIENCE
        while not one.answer() and time.monotonic() < until:
            time.sleep(1)
    seconds = time.monotonic() - struck
    lost += [one.name for one in learners if not _is_there(one) and one.name not in lost]
    refused = sum(len(one.refusals) - refused_before[one.name] for one in learners)
    kept = sum(one.tries - before[one.name] for one in learners) - refused
    why = sorted({said for one in learners for said in one.refusals[refused_before[one.name]:]})
    return (f"| {what} | {len(touched)} of {len(learners)} | {kept} | {refused}"
            f"{' (' + ', '.join(why) + ')' if why else ''} | {len(lost)} | {seconds:.0f} s |",
            len(lost))


def _go_on(share: Sequence[Learner], ended: threading.Event) -> None:
    while not ended.is_set():
        for one in share:
            if not ended.is_set():
                one.answer()
                time.sleep(0.1)


def _is_there(one: Learner) -> bool:
    until = time.monotonic() + _PATIENCE
    while not one.found():
        if time.monotonic() > until:
            return False
        time.sleep(1)
    return True


def all_faults(hub: Hub, learners: Sequence[Learner],
               small: Sequence[str]) -> Iterator[tuple[str, int]]:
    """Each fault in turn: a line of the table, and how many answers were lost."""
    third, others = learners[::3], learners[1::3]  # a new server has no kernel to lose

    def kill(names: Sequence[Learner], what: str) -> None:
        for one in names:
            os.kill(process_of(one.name, what), signal.SIGKILL)

    def end_hub() -> None:
        culler = Path(f"/proc/{hub.process.pid}/task/{hub.process.pid}/children").read_text()
        hub.process.kill()
        hub.process.wait()
        for pid in culler.split():  # its proxy stays, as it would; two cullers would not
            with suppress(OSError):
                if b"idle_culler" in Path(f"/proc/{pid}/cmdline").read_bytes():
                    os.kill(int(pid), signal.SIGTERM)

    def end_proxy() -> None:
        pid = Path(hub.here("/srv/hub"), "jupyterhub-proxy.pid").read_text()
        os.kill(int(pid), signal.SIGKILL)

    def servers() -> None:
        for one in third:
            hub.start(one.name)

    yield told("the hub, killed and started again", learners, learners, end_hub, hub.start_hub)
    yield told("its proxy, killed (the hub starts another)", learners, learners, end_proxy,
               lambda: None)
    yield told("servers, killed and started again", learners, third,
               lambda: kill(third, SERVER), servers)
    yield told("kernels, killed (the server starts others)", learners, others,
               lambda: kill(others, KERNEL), lambda: None)
    for room, words in ((0, "disks, full"), (0.5, "disks, with room for half a notebook")):
        full = [one for one in learners if one.name in small]
        if full:
            yield told(f"learners' {words}", learners, full,
                       lambda full=full, room=room: [fill(one, room) for one in full],
                       lambda full=full: [home(one).joinpath(FILLER).unlink() for one in full])


def home(one: Learner) -> Path:
    """Where a learner's files are."""
    return one.hub.base / "homes" / one.name


def fill(one: Learner, room: float) -> None:
    """Leave so many times the notebook's size on a learner's disk."""
    free = shutil.disk_usage(home(one)).free - int(room * (home(one) / one.path).stat().st_size)
    with suppress(OSError), (home(one) / FILLER).open("wb") as file:
        file.write(b"\0" * max(0, free // 4096 * 4096 if room else free))


@contextmanager
def small_disks(homes: Path, names: Sequence[str]) -> Iterator[Sequence[str]]:
    """Disks of a size in the place of some home folders; whose, none without root's rights."""
    made = []
    for name in names:
        mount = ["mount", "-t", "tmpfs", "-o", f"size={DISK},mode=700", "tmpfs", homes / name]
        if not subprocess.run(mount, capture_output=True, check=False).returncode:
            made.append(name)
    try:
        yield made
    finally:
        for name in made:
            subprocess.run(["umount", "-l", homes / name], check=False)
