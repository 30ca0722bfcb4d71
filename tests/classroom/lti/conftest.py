"""A platform on the loopback address, and a tool that is registered with it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from lti_platform import CLIENT, COURSE, DEPLOYMENT, ISSUER, ITEMS, RESULTS, SCORE, a_platform
from lti_platform import Platform as LoopbackPlatform

from acidbase_lib.classroom.lti.own_folder import own_folder
from acidbase_lib.classroom.lti.platform import Platform, write_platform
from acidbase_lib.classroom.lti.record import Context
from acidbase_lib.classroom.lti.service import PlatformService
from acidbase_lib.classroom.lti.tool_key import SECRET, make_key, read_key


@pytest.fixture
def school() -> Iterator[LoopbackPlatform]:
    """The school's platform."""
    with a_platform() as platform:
        yield platform


@pytest.fixture
def registered(school: LoopbackPlatform) -> Platform:
    """What the platform told of itself."""
    return Platform(ISSUER, CLIENT, (DEPLOYMENT,), f"{school.address}/auth",
                    f"{school.address}/token", f"{school.address}/keys")


@pytest.fixture(scope="session")
def key_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tool's key, made once."""
    place = tmp_path_factory.mktemp("key")
    make_key(place)
    return place / SECRET


@pytest.fixture
def folder(tmp_path: Path, school: LoopbackPlatform, registered: Platform,
           key_file: Path) -> Path:
    """The course's folder `lti`, its public key handed over."""
    place = own_folder(tmp_path)
    shutil.copy(key_file, place)
    school.tool_keys = make_key(place)
    write_platform(place, registered)
    return place


@pytest.fixture
def service(folder: Path, registered: Platform) -> PlatformService:
    """The tool's side, which does not wait between tries."""
    return PlatformService(registered, read_key(folder), pause=lambda _: None)


@pytest.fixture
def context(school: LoopbackPlatform) -> Context:
    """The course on the platform."""
    return Context(COURSE, "Acid and base", f"{school.address}/members?course=9",
                   f"{school.address}/items?course=9", (ITEMS, SCORE, RESULTS))
