"""A folder served from this machine alone."""
from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any


class _Quiet(SimpleHTTPRequestHandler):
    def __init__(self, *args: Any, sent: list[int], **more: Any) -> None:
        self.sent = sent
        super().__init__(*args, **more)

    def copyfile(self, source: Any, outputfile: Any) -> None:
        self.sent.append(len(source.getbuffer()) if hasattr(source, "getbuffer")
                         else os.fstat(source.fileno()).st_size)
        super().copyfile(source, outputfile)

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@contextmanager
def serving(folder: Path, port: int = 0, sent: list[int] | None = None) -> Iterator[str]:
    """Serve a folder from this machine alone; any free port, or that one.

    What each answer weighs is added to `sent`. [bytes]
    """
    handler = partial(_Quiet, directory=str(folder), sent=[] if sent is None else sent)
    served = ThreadingHTTPServer(("127.0.0.1", port), handler)
    threading.Thread(target=served.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{served.server_port}"
    finally:
        served.shutdown()
        served.server_close()
