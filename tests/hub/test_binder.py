"""The folder `binder/` describes a computer on which the course opens at its first unit."""

from __future__ import annotations

import json
import os
import re
import subprocess
from pathlib import Path

from school_hub import BIN, ROOT

FIRST = "course/00_start_here/00_start_here.ipynb"


def said_by(*command: str, **environment: str) -> str:
    """Run a command in the repository; what it says."""
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300,
                          env={**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ['PATH']}",
                               **environment})
    assert done.returncode == 0, f"{' '.join(command)}:\n{done.stdout}\n{done.stderr}"
    return done.stdout + done.stderr


def test_repo2docker_understands_it() -> None:
    """The Dockerfile it would build: our Python, our files, our requirements, our last step."""
    plan = said_by(str(BIN / "jupyter-repo2docker"), "--no-build", "--debug", ".")
    assert "Building conda environment for python=3.11" in plan
    install = plan.index('pip install --no-cache-dir -r "binder/requirements.txt"')
    assert re.search(r"^COPY .*src/ \$\{REPO_DIR\}", plan[:install], re.M), (
        "the requirements name this repository, which is not there yet")
    assert "RUN ./binder/postBuild" in plan[install:]


def test_what_it_installs_can_be_had() -> None:
    plan = said_by(str(BIN / "python"), "-m", "pip", "install", "--dry-run", "--ignore-installed",
                   "-q", "--report", "-", "-r", "binder/requirements.txt")
    report = json.loads(plan[plan.index("{"):plan.rindex("}") + 1])
    found = {one["metadata"]["name"].lower().replace("_", "-") for one in report["install"]}
    assert {"acidbase-lib", "jupyterlab", "nbgrader", "ipywidgets", "anywidget"} <= found


def test_it_opens_on_the_first_unit(tmp_path: Path) -> None:
    assert (ROOT / FIRST).is_file()
    said_by("bash", "binder/postBuild", NB_PYTHON_PREFIX=str(tmp_path))
    config = str(tmp_path / "etc" / "jupyter")
    told = said_by(str(BIN / "jupyter"), "lab", "--show-config-json", JUPYTER_CONFIG_PATH=config,
                   JUPYTER_CONFIG_DIR=str(tmp_path / "none"))
    settings = json.loads(told[told.index("{"):told.rindex("}") + 1])
    assert settings["LabApp"]["default_url"] == f"/lab/tree/{FIRST}"
    overrides = tmp_path / "share" / "jupyter" / "lab" / "settings" / "overrides.json"
    assert "notification" in next(iter(json.loads(overrides.read_text())))
