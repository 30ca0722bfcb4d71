"""A PostgreSQL server of our own for the length of a test run: loopback only, gone afterwards."""
from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def programs() -> Path | None:
    """Where Debian's package keeps the server's programs, or None."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"))
    return found[-1].parent if found else None


@contextmanager
def server(durable: bool = False) -> Iterator[str]:
    """Yield the URL of an empty database on a new server; durable: it waits for the disk."""
    home = programs()
    assert home is not None
    place = Path(tempfile.mkdtemp(prefix="acidbase-pg-"))
    as_user = []
    if os.geteuid() == 0:  # the server refuses to run as root
        shutil.chown(place, "postgres", "postgres")
        as_user = [shutil.which("setpriv") or "setpriv", "--reuid", "postgres", "--regid",
                   "postgres", "--clear-groups"]
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]

    def run(*words: str) -> None:
        subprocess.run([*as_user, *words], check=True, cwd=place, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, timeout=60, stdin=subprocess.DEVNULL)

    data = str(place / "data")
    try:
        run(str(home / "initdb"), "-D", data, "-U", "marker", "-A", "trust", "-E", "UTF8",
            "--no-sync", "--locale=C.UTF-8")
        run(str(home / "pg_ctl"), "-D", data, "-w", "-l", str(place / "log"), "-o",
            f"-p {port} -h 127.0.0.1 -k {place} -c fsync={'on' if durable else 'off'}", "start")
        try:
            yield f"postgresql+psycopg2://marker@127.0.0.1:{port}/postgres"
        finally:
            run(str(home / "pg_ctl"), "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(place, ignore_errors=True)
