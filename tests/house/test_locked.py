"""The locked list of packages holds what pyproject.toml asks for, each file by its digest."""
from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LOCKED = ROOT / "binder" / "locked-class.txt"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def locked() -> dict[str, list[tuple[str, str]]]:
    """Package: its versions (one for each kind of system) and the lines of their digests."""
    text = LOCKED.read_text(encoding="utf-8").replace("\\\n", " ")
    found: dict[str, list[tuple[str, str]]] = {}
    for line in text.splitlines():
        if line.strip() and not line.startswith("#"):
            match = re.match(r"(\S+?)==(\S+)(.*)$", line)
            assert match, f"not a pinned package: {line[:60]}"
            found.setdefault(canonicalize_name(match[1]), []).append((match[2], match[3]))
    return found


def asked_for() -> list[Requirement]:
    """Everything that an instructor's install names: the kit's own needs and its class extra."""
    extras = PROJECT["project"]["optional-dependencies"]
    names, todo = [*PROJECT["project"]["dependencies"]], ["class"]
    while todo:
        for text in extras[todo.pop()]:
            one = Requirement(text)
            if canonicalize_name(one.name) == "acidbase-lib":
                todo += one.extras
            else:
                names.append(text)
    return [Requirement(text) for text in (*names, *PROJECT["build-system"]["requires"])]


@pytest.mark.parametrize("wanted", asked_for(), ids=str)
def test_what_is_asked_for_is_locked_at_a_version_that_will_do(wanted: Requirement) -> None:
    versions = [version for version, _ in locked().get(canonicalize_name(wanted.name), ())]
    assert versions, f"{wanted.name} is not in {LOCKED.name}: make it anew (DEVELOPERS.md, Release)"
    assert all(wanted.specifier.contains(version) for version in versions)


def test_every_package_has_the_digest_of_its_files() -> None:
    assert all("--hash=sha256:" in rest for rows in locked().values() for _, rest in rows)


@pytest.mark.services
def test_the_registry_still_serves_the_very_files() -> None:
    command = [sys.executable, "-m", "pip", "install", "--dry-run", "--ignore-installed", "-q",
               "--require-hashes", "-r", str(LOCKED)]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr[-2000:]
