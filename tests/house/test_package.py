"""What is handed to others: an sdist and a wheel with the course in them and no key."""
from __future__ import annotations

import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

import acidbase_lib

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_the_version_stands_in_one_place_and_its_changes_are_told_first() -> None:
    assert "version" not in PROJECT
    assert PROJECT["dynamic"] == ["version"]
    changes = (ROOT / "acidbase_lib" / "CHANGES.md").read_text(encoding="utf-8")
    told = re.findall(r"^## (\d+\.\d+\.\d+)$", changes, re.M)
    numbers = [tuple(map(int, one.split("."))) for one in told]
    assert told[0] == acidbase_lib.__version__
    assert numbers == sorted(set(numbers), reverse=True), "newest first, each once"


def test_there_is_an_extra_for_each_who_installs_it_and_the_old_names_stay() -> None:
    assert {"study", "class", "hub", "test"} <= set(PROJECT["optional-dependencies"])
    assert {"browser", "dev", "services", "site", "postgres", "dask"} <= set(
        PROJECT["optional-dependencies"])
    hub = " ".join(PROJECT["optional-dependencies"]["hub"])
    assert "jupyterhub" in hub
    assert "acidbase-lib[class]" in hub
    assert "repo2docker" not in hub, "the tests' tools are no part of a school's hub"


def test_what_an_index_shows_is_there_and_nothing_is_invented() -> None:
    classifiers = PROJECT["classifiers"]
    assert "Intended Audience :: Education" in classifiers
    lowest = PROJECT["requires-python"].removeprefix(">=")
    assert f"Programming Language :: Python :: {lowest}" in classifiers
    assert all((ROOT / name).is_file() for name in PROJECT["license-files"])
    assert "urls" not in PROJECT, "no address of the project is known yet"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Mapping[str, bytes]]:
    """The files of both packages, by name below the package's own folder."""
    out = tmp_path_factory.mktemp("dist")
    done = subprocess.run([sys.executable, "-m", "hatchling", "build", "-d", str(out)], cwd=ROOT,
                          capture_output=True, text=True, encoding="utf-8", timeout=300)
    assert done.returncode == 0, done.stderr
    (sdist,), (wheel,) = out.glob("*.tar.gz"), out.glob("*.whl")
    with tarfile.TarFile.gzopen(str(sdist)) as tar:
        source = {one.name.split("/", 1)[1]: tar.extractfile(one).read()
                  for one in tar.getmembers() if one.isfile()}
    with zipfile.ZipFile(wheel) as archive:
        return {"sdist": source, "wheel": {name: archive.read(name)
                                           for name in archive.namelist()}}


@pytest.mark.services
def test_neither_package_holds_a_key(built: Mapping[str, Mapping[str, bytes]]) -> None:
    for kind, files in built.items():
        odd = [name for name in files if name.split("/")[0] in {"solutions", "tests", "grading"}]
        assert not odd, (kind, odd[:5])
        for name, data in files.items():
            if name.endswith(".ipynb"):
                assert b"BEGIN HIDDEN TESTS" not in data, (kind, name)


@pytest.mark.services
def test_both_hold_the_course_the_licence_and_the_hubs_templates(
        built: Mapping[str, Mapping[str, bytes]]) -> None:
    for kind, files in built.items():
        course = "acidbase_lib/_course" if kind == "wheel" else "course"
        units = [name for name in files if name.startswith(course) and name.endswith(".ipynb")]
        assert len(units) >= 9, kind
        assert any(name.endswith("LICENSE") for name in files), kind
        assert "acidbase_lib/classroom/hub/settings/jupyterhub_config.py.in" in files
