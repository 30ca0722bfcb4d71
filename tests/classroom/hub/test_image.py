"""The Containerfile, line by line: no builder is at hand here that could build it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from packaging.requirements import Requirement
from packaging.version import Version

ROOT = Path(__file__).parents[3]
LINES = (ROOT / "binder" / "Containerfile").read_text(encoding="utf-8").splitlines()
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
KNOWN = {"FROM", "RUN", "COPY", "USER", "WORKDIR", "EXPOSE", "CMD"}


def steps(kind: str = "") -> Iterator[tuple[str, str]]:
    for line in LINES:
        if line and not line.startswith("#"):
            word, rest = line.split(" ", 1)
            assert word in KNOWN, line
            if kind in {"", word}:
                yield word, rest


def test_it_begins_from_a_python_that_the_kit_was_tried_with() -> None:
    (_, base), *_ = steps()
    number = re.fullmatch(r"docker\.io/library/python:(3\.\d+)-slim", base)[1]
    assert f"Programming Language :: Python :: {number}" in PROJECT["classifiers"]


def test_it_copies_what_a_build_needs_and_no_key() -> None:
    copied = [name for _, rest in steps("COPY") for name in rest.split()[:-1]]
    assert all((ROOT / name).exists() for name in copied)
    assert {"pyproject.toml", "acidbase_lib", "course", PROJECT["readme"],
            *PROJECT["license-files"]} == set(copied)


def test_it_installs_an_extra_that_there_is_and_the_hubs_own_package() -> None:
    (install,) = [rest for _, rest in steps("RUN") if "pip install" in rest]
    kit, hub = re.findall(r'"([^"]+)"', install)
    assert re.search(r"\[(\w+)\]", kit)[1] in PROJECT["optional-dependencies"]
    assert Requirement(hub).specifier.contains(Version("6.1.1"))


def test_it_runs_the_learners_server_as_no_administrator() -> None:
    order = [word for word, _ in steps()]
    assert order.index("USER") > max(i for i, word in enumerate(order) if word in {"RUN", "COPY"})
    assert dict(steps("USER"))["USER"] != "root"
    assert '"jupyterhub-singleuser"' in dict(steps("CMD"))["CMD"]
