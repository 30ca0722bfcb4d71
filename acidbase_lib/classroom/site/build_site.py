"""The course as static files: notebooks, a Python that runs in the browser, and a front page."""
from __future__ import annotations

import json
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.released_course import course_folder, template_notebook, unit_ids_of
from acidbase_lib.teaching.glossary import glossary_page
from acidbase_lib.teaching.widgets.opens_ready import extension_folder

from .bytecode import compile_ahead
from .front_page import HOME, UnitLink, front_page, unit_in
from .light_page import FOLDER, light_front, write_light_page
from .reference import REFERENCE, write_reference
from .tools import SiteTools
from .wheel import NAME, leave_out_jedi, make_wheel

MARK = ".acidbase-site"  # says that a folder is ours, and may be written anew
STORE = "acidbase-course"  # the name of the browser's store that keeps a learner's notebooks
EXTENSIONS = ("@jupyter-widgets/jupyterlab-manager", "@jupyterlite/pyodide-kernel-extension",
              "anywidget")
_RUNTIME = ("package.json", "pyodide.mjs", "pyodide.js", "pyodide.asm.mjs", "pyodide.asm.js",
            "pyodide.asm.wasm", "python_stdlib.zip")


def build_site(course: Path, out: Path, tools: SiteTools) -> tuple[UnitLink, ...]:
    """Write the page into a folder, whole or not at all.

    Parameters
    ----------
    course : Path
        The released course, a folder for each unit.
    out : Path
        Where to; a folder that is new, empty, or an earlier page of ours.
    tools : SiteTools
        What `find_tools` found.

    Raises
    ------
    CommandError
        If the folder holds something else, or the build failed.
    """
    with _whole_or_not(out) as work:
        _lay_out(course, work, tools)
        _build(work)
        page = work / "page"
        compile_ahead(page, tools.pyodide)
        listed = tuple(unit_in(course, unit_id) for unit_id in unit_ids_of(course))
        (page / "index.html").write_text(front_page(listed, STORE), encoding="utf-8",
                                         newline="\n")
        (page / "words.html").write_text(glossary_page(), encoding="utf-8", newline="\n")
        write_reference(page / REFERENCE)
        write_light_page(page / FOLDER, course, behind=True)
    return listed


def build_light_site(out: Path) -> int:
    """Write the light page of practice alone, whole or not at all; return how many cases it holds.

    It needs nothing but the kit.

    Parameters
    ----------
    out : Path
        Where to; a folder that is new, empty, or an earlier page of ours.

    Raises
    ------
    CommandError
        If the folder holds something else.
    """
    with _whole_or_not(out) as work:
        page = work / "page"
        page.mkdir()
        (page / "index.html").write_text(light_front(), encoding="utf-8", newline="\n")
        return write_light_page(page / FOLDER, course_folder())


@contextmanager
def _whole_or_not(out: Path) -> Iterator[Path]:
    """Give a folder to work in; its `page` takes the place of `out` at the end."""
    if out.is_file() or (out.is_dir() and any(out.iterdir()) and not (out / MARK).exists()):
        raise CommandError(f"{out} holds something else; choose a new or an empty folder, so that "
                           "nothing of yours is lost")
    out = out.resolve()  # the builder runs in another folder
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".acidbase-site-") as name:
        page = Path(name) / "page"
        yield page.parent
        (page / MARK).write_text("written by `acidbase site`\n", encoding="utf-8", newline="\n")
        if out.exists():
            shutil.rmtree(out)
        page.rename(out)


def size_of(folder: Path) -> int:
    """How much a folder's files weigh. [bytes]"""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _lay_out(course: Path, work: Path, tools: SiteTools) -> None:
    """Put what the builder reads into a folder: notebooks, wheel, runtime and settings."""
    for unit_id in unit_ids_of(course):
        shutil.copytree(course / unit_id, work / "source" / "units" / unit_id,
                        ignore=shutil.ignore_patterns(".*", "__*", "*.py"))
    shutil.copyfile(template_notebook("home"), work / "source" / "units" / HOME)
    make_wheel(work / "wheels")
    leave_out_jedi(work / "wheels")
    runtime = work / "source" / "static" / "pyodide"
    runtime.mkdir(parents=True)
    for file in _RUNTIME:
        if (tools.pyodide / file).exists():
            shutil.copyfile(tools.pyodide / file, runtime / file)
    # The package's list names hundreds of files that it does not hold: start from none of them.
    lock = json.loads((tools.pyodide / "pyodide-lock.json").read_text(encoding="utf-8"))
    lock["packages"] = {}
    lock["info"].setdefault("version", tools.version)
    _write(runtime / "pyodide-lock.json", lock)
    _write(work / "source" / "jupyter_lite_config.json", _build_settings(work))
    _write(work / "source" / "jupyter-lite.json", _page_settings())
    _write(work / "source" / "overrides.json", _reader_settings())


def _build_settings(work: Path) -> dict[str, Any]:
    shared = Path(sysconfig.get_path("data")) / "share" / "jupyter" / "labextensions"
    return {
        "LiteBuildConfig": {
            "apps": ["lab", "notebooks"], "contents": ["units"], "no_sourcemaps": True,
            "no_unused_shared_packages": True, "no_libarchive": True,
            "cache_dir": str(work / "cache"),
            # An instructor's environment may hold extensions that ask a server.
            "ignore_sys_prefix": ["federated_extensions"],
            "federated_extensions": [*(str(shared / name) for name in EXTENSIONS),
                                     str(extension_folder())],
        },
        "PyodideLockAddon": {
            "enabled": True, "wheels": [str(work / "wheels")], "specs": ["micropip"],
            "prefetch_extra": [NAME, "ipywidgets", "anywidget", "micropip", "piplite"],
            # The page has the widgets' scripts itself.
            "excludes_extra": ["widgetsnbextension", "jupyterlab-widgets"],
        },
    }


def _page_settings() -> dict[str, Any]:
    kernel = {"disablePyPIFallback": True}
    return {"jupyter-lite-schema-version": 0, "jupyter-config-data": {
        "appName": "Acid–base course", "contentsStorageName": STORE,
        "litePluginSettings": {"@jupyterlite/pyodide-kernel-extension:kernel": kernel}}}


def _reader_settings() -> Mapping[str, Any]:
    return {"@jupyterlab/apputils-extension:notification":
            {"fetchNews": "false", "checkForUpdates": False}}


def _build(work: Path) -> None:
    command = [sys.executable, "-m", "jupyterlite_core", "build", "--lite-dir",
               str(work / "source"), "--output-dir", str(work / "page"), "--config",
               str(work / "source" / "jupyter_lite_config.json")]
    done = subprocess.run(command, cwd=work / "source", capture_output=True,
                          encoding="utf-8", errors="replace", check=False)
    if done.returncode or not (work / "page" / "notebooks" / "index.html").exists():
        said = (done.stderr.strip() or done.stdout.strip()).splitlines()
        last = said[-1] if said else "no reason was given"
        reason = next((line for line in reversed(said) if "rror" in line), last)
        raise CommandError(f"the page could not be built: {reason.strip()[:300]}")


def _write(path: Path, data: Mapping[str, Any]) -> None:
    path.write_text(json.dumps(data, indent=1, ensure_ascii=False), encoding="utf-8",
                    newline="\n")
