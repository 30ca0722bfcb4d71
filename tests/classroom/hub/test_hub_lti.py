"""A hub's files for people from a learning platform, and what is said where it is missing."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from traitlets.config.loader import PyFileConfigLoader

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.hub.check_hub import _packages, _platform
from acidbase_lib.classroom.hub.hub_files import files_of, write_hub_files
from acidbase_lib.classroom.hub.hub_plan import HubPlan, read_record
from acidbase_lib.classroom.lti.own_folder import own_folder
from acidbase_lib.classroom.lti.platform import Platform, write_platform
from acidbase_lib.classroom.lti.tool_key import make_key

PLATFORM = Platform("https://platform.example.edu", "tool-7", ("two", "one"),
                    "https://platform.example.edu/auth", "https://platform.example.edu/token",
                    "https://platform.example.edu/keys")


def plan_of(out: Path, course: Path, lti: Platform | None = PLATFORM) -> HubPlan:
    return HubPlan(str(out), str(course), "/srv/exchange", ("teacher",), lti=lti)


def test_the_settings_are_the_platforms_and_what_else_a_hub_needs_stays(tmp_path: Path) -> None:
    write_hub_files(plan_of(tmp_path / "hub", Path("/srv/acidbase")), tmp_path / "hub")
    found = PyFileConfigLoader("jupyterhub_config.py", path=str(tmp_path / "hub")).load_config()
    assert found.JupyterHub.authenticator_class.endswith("PlatformAuthenticator")
    assert found.LTI13Authenticator.issuer == PLATFORM.issuer
    assert found.LTI13Authenticator.client_id == {PLATFORM.client_id}
    assert found.LTI13Authenticator.authorize_url == PLATFORM.authorize
    assert found.LTI13Authenticator.jwks_endpoint == PLATFORM.keys
    assert set(found.PlatformAuthenticator.deployments) == {"one", "two"}
    assert found.PlatformAuthenticator.folder == "/srv/acidbase/lti"
    assert found.Authenticator.allow_all
    assert read_record(tmp_path / "hub").lti == PLATFORM


def test_without_a_platform_nothing_of_it_is_written(tmp_path: Path) -> None:
    without = files_of(plan_of(tmp_path, Path("/srv/acidbase"), lti=None))["jupyterhub_config.py"]
    assert "LTI" not in without
    assert "$" not in files_of(plan_of(tmp_path, Path("/srv/acidbase")))["jupyterhub_config.py"]


def test_the_command_takes_what_was_registered_in_the_course(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["hub", str(tmp_path / "hub"), "--lti", "--course", str(tmp_path / "course")]
    assert main(words) == 2
    assert "the learning platform is not registered yet" in capsys.readouterr().err
    assert not (tmp_path / "hub").exists()
    (tmp_path / "course").mkdir()
    write_platform(own_folder(tmp_path / "course"), PLATFORM)
    assert main(words) == 0
    assert read_record(tmp_path / "hub").lti == PLATFORM
    assert main(["hub", str(tmp_path / "hub"), "--force"]) == 0
    assert read_record(tmp_path / "hub").lti == PLATFORM, "nobody else's sign-in is opened unasked"


def test_a_chart_is_refused_in_a_sentence() -> None:
    with pytest.raises(CommandError, match="--lti is for a hub on one machine"):
        HubPlan("/etc/acidbase", "/srv/acidbase", "/srv/exchange", kubernetes=True, lti=PLATFORM)


def test_a_record_of_an_older_version_is_read(tmp_path: Path) -> None:
    write_hub_files(plan_of(tmp_path / "hub", Path("/srv/acidbase"), None), tmp_path / "hub")
    path = tmp_path / "hub" / "acidbase-hub.json"
    path.write_text(path.read_text().replace(',\n "lti": null', ""))
    assert '"lti"' not in path.read_text()
    assert read_record(tmp_path / "hub").lti is None


# --- the check says what is missing ---------------------------------------------------------------

def said(tmp_path: Path) -> list[str]:
    return list(_platform(plan_of(tmp_path / "hub", tmp_path)))


def test_each_thing_that_is_missing_is_one_sentence(tmp_path: Path) -> None:
    no_key, no_platform = said(tmp_path)
    assert no_key.startswith("The tool has no key in")
    assert "the learning platform is not registered yet" in no_platform
    folder = own_folder(tmp_path)
    make_key(folder)
    write_platform(folder, Platform(PLATFORM.issuer, "tool-8", ("one",), PLATFORM.authorize,
                                    PLATFORM.token, PLATFORM.keys))
    (other,) = said(tmp_path)
    assert "of other settings, than the hub's files" in other
    write_platform(folder, PLATFORM)
    assert said(tmp_path) == []
    if os.name == "posix":
        folder.chmod(0o755)
        (told,) = said(tmp_path)
        assert told.startswith("Others can read")


def test_without_a_platform_the_check_says_nothing_of_one(tmp_path: Path) -> None:
    assert list(_platform(plan_of(tmp_path / "hub", tmp_path, None))) == []


def test_the_package_of_the_sign_in_is_asked_for_only_with_a_platform(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from importlib.metadata import PackageNotFoundError

    def version(package: str) -> str:
        raise PackageNotFoundError(package)

    monkeypatch.setattr("acidbase_lib.classroom.hub.check_hub.version", version)
    assert any("jupyterhub-ltiauthenticator>=1.6.3,<2" in line
               for line in _packages(plan_of(tmp_path, tmp_path)))
    assert not any("lti" in line for line in _packages(plan_of(tmp_path, tmp_path, None)))
