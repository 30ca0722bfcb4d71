"""A folder served from this machine alone."""
from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@contextmanager
def serving(folder: Path, port: int = 0) -> Iterator[str]:
    """Serve a folder from this machine alone; any free port, or that one."""
    served = ThreadingHTTPServer(("127.0.0.1", port), partial(_Quiet, directory=str(folder)))
    threading.Thread(target=served.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{served.server_port}"
    finally:
        served.shutdown()
        served.server_close()
