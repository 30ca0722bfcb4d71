"""Run on its own: what Jupyter and nbgrader read where a server of one role would start. JSON."""
from __future__ import annotations

import json
import sys
from typing import Any


def probe() -> dict[str, Any]:
    """Return the settings that count, as this process's environment gives them."""
    from jupyter_core.paths import jupyter_config_path, jupyter_path
    from jupyter_server.extension.config import ExtensionConfigManager
    from jupyter_server.serverapp import ServerApp
    from jupyterlab_server.config import get_page_config
    from nbgrader.apps import NbGrader

    book, server = NbGrader(), ServerApp()
    book.load_cwd_config = False
    book.load_config_file()
    server.load_config_file()
    headers = server.config.ServerApp.get("tornado_settings", {}).get("headers", {})
    folders = jupyter_path("labextensions")
    manager: Any = ExtensionConfigManager(read_config_path=jupyter_config_path())
    return {
        "exchange": str(book.config.Exchange.get("root", "")),
        "course_id": str(book.config.CourseDirectory.get("course_id", "")),
        "root": str(book.config.CourseDirectory.get("root", "")),
        "student_id": str(book.config.CourseDirectory.get("student_id", "")),
        "shown": str(server.config.ServerApp.get("root_dir", "")),
        "frame": headers.get("Content-Security-Policy", ""),
        "servers": manager.get_jpserver_extensions(),
        "disabled": sorted(get_page_config(folders).get("disabledExtensions", {})),
        "labextensions": folders,
    }


if __name__ == "__main__":
    json.dump(probe(), sys.stdout)
