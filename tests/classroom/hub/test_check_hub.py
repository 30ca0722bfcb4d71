"""What is missing on a hub is said in sentences, each with the way to mend it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.hub import check_hub
from acidbase_lib.classroom.hub.hub_files import write_hub_files
from acidbase_lib.classroom.hub.hub_plan import HubPlan

ROOT = Path(__file__).parents[3]
HERE_ALONE = "default-src 'self' 'unsafe-inline'; frame-ancestors "
FOUND = {  # what a server of either role reads where all is well
    "learner": {"student_id": "learner", "shown": "", "frame": f"{HERE_ALONE}'none'"},
    "instructor": {"student_id": "", "frame": f"{HERE_ALONE}'self'"},
}


@pytest.fixture
def hub(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine on which nothing is missing, but for what a test takes away."""
    out, course, exchange = tmp_path / "hub", tmp_path / "course", tmp_path / "exchange"
    exchange.mkdir()
    exchange.chmod(0o777)
    course.mkdir(mode=0o700)
    shutil.copytree(ROOT / "solutions" / "00_start_here", course / "solutions" / "00_start_here")
    (course / "course").mkdir()
    shutil.copy(ROOT / "course" / "nbgrader_config.py", course / "course")
    write_hub_files(HubPlan(str(out), str(course), str(exchange), ("teacher",)), out)
    monkeypatch.setattr(check_hub, "version", tried)
    monkeypatch.setattr(check_hub, "_proxy", lambda: iter(()))
    monkeypatch.setattr(check_hub, "_accounts", lambda: iter(()))
    monkeypatch.setattr(check_hub, "FRONT_ENDS", {})
    monkeypatch.setattr(check_hub, "_probe", probing(course, exchange))
    return out


def tried(package: str) -> str:
    """A version of a package that the files were tried with."""
    return ".".join(map(str, (*check_hub.NEEDED[package][0][:2], 9)))


def probing(course: Path, openly: Path, role: str = "", **other: object):
    """A probe that finds all well, but for `other` in one role."""
    def probe(settings: Path, home: str, owner: object = None) -> dict[str, object]:
        Path(home, "home.ipynb").write_text("{}")
        on = {"learner": "assignment_list", "instructor": "formgrader"}[settings.name]
        return {"exchange": str(openly), "course_id": "acidbase", "root": str(course),
                "shown": str(course), "labextensions": [],
                "servers": {f"nbgrader.server_extensions.{on}": True},
                "disabled": ["@jupyterlab/apputils-extension:announcements"],
                **FOUND[settings.name], **(other if settings.name == role else {})}
    return probe


def missing(hub: Path) -> tuple[str, ...]:
    """What is missing, but for the owner: whoever runs the tests may be root."""
    return tuple(told for told in check_hub.missing_on(hub) if "belongs to root" not in told)


def test_where_nothing_is_missing_nothing_is_said(hub: Path) -> None:
    assert missing(hub) == ()


def test_an_exchange_that_is_not_there_or_not_open_is_told(hub: Path) -> None:
    exchange = hub.parent / "exchange"
    exchange.chmod(0o755)
    assert missing(hub) == (
        f"The exchange {exchange} has the permissions 755; learners can hand in only with 777: "
        f"chmod 777 {exchange}.",)
    exchange.rmdir()
    assert missing(hub) == (f"The exchange {exchange} is not there: install -d -m 777 {exchange}.",)


def test_keys_that_everyone_may_read_are_told(hub: Path) -> None:
    (hub.parent / "course").chmod(0o755)
    (told,) = missing(hub)
    assert "holds the right answers and everyone may read it: chmod 700" in told


def test_a_course_that_is_not_there_is_told(hub: Path) -> None:
    shutil.rmtree(hub.parent / "course")
    assert any("The course is not in" in told for told in missing(hub))


def test_a_package_that_is_missing_or_of_another_version_is_told(
        hub: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def version(name: str) -> str:
        if name == "jupyterhub-idle-culler":
            raise check_hub.PackageNotFoundError
        return "0.8.1" if name == "nbgrader" else tried(name)
    monkeypatch.setattr(check_hub, "version", version)
    assert missing(hub) == (
        'The package jupyterhub-idle-culler is not installed: pip install '
        '"jupyterhub-idle-culler>=1.3,<3".',
        "nbgrader is 0.8.1; these files were tried with versions from 0.9.6 on, below 0.10.")


def test_homes_with_the_course_that_other_accounts_may_read_are_told(
        hub: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    homes = {name: tmp_path / name for name in ("anna", "ben", "cleo", "dana", "erin", "fay")}
    for name, home in homes.items():
        home.mkdir(mode=0o755)
        if name != "fay":  # who never signed in
            (home / "home.ipynb").write_text("{}")
    homes["ben"].chmod(0o700)
    monkeypatch.setattr(check_hub, "_accounts",
                        lambda: iter([*homes.items(), ("gone", tmp_path / "gone")]))
    (told,) = missing(hub)
    assert told == (f"Other accounts may read what anna, cleo, dana and 1 more answered: chmod 700 "
                    f"{homes['anna']}, and HOME_MODE 0700 in /etc/login.defs for accounts to come.")


@pytest.mark.parametrize(("role", "other", "said"), [
    ("instructor", {"frame": f"{HERE_ALONE}'none'"}, "The marking screen would stay empty"),
    ("instructor", {"frame": "frame-ancestors 'self'"}, "Pages of the instructor would ask other"),
    ("learner", {"frame": ""}, "Pages of the learner would ask other hosts for scripts"),
    ("instructor", {"root": "/elsewhere"}, "the marking screen would list nothing"),
    ("instructor", {"shown": "/home/teacher"}, "The marking screen would show an error"),
    ("instructor", {"student_id": "teacher"}, "narrowed to the one learner teacher"),
    ("instructor", {"exchange": "/tmp/own"}, "An instructor's exchange is /tmp/own"),
    ("instructor", {"servers": {}}, "nbgrader's formgrader is not enabled for the instructor"),
    ("learner", {"servers": {}}, "nbgrader's assignment_list is not enabled for the learner"),
    ("learner", {"student_id": ""}, "does not take the hub's name as the learner's id"),
    ("learner", {"exchange": ""}, "its exchange is not set"),
    ("learner", {"disabled": []}, "Jupyter's news would be shown to the learner"),
])
def test_each_thing_that_a_server_does_not_read_is_told(
        hub: Path, monkeypatch: pytest.MonkeyPatch, role: str, other: dict[str, object],
        said: str) -> None:
    monkeypatch.setattr(check_hub, "_probe", probing(
        hub.parent / "course", hub.parent / "exchange", role, **other))
    (told,) = missing(hub)
    assert said in told


def test_a_front_end_that_jupyter_does_not_find_is_told(
        hub: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check_hub, "FRONT_ENDS", {"acidbase-ready": "acidbase-lib"})
    (told,) = missing(hub)
    assert "the front end acidbase-ready: install acidbase-lib" in told


def test_a_file_changed_by_hand_or_taken_away_is_told(hub: Path) -> None:
    (hub / "learner" / "nbgrader_config.py").unlink()
    (hub / "jupyterhub_config.py").write_text("c = get_config()\n")
    first, second = missing(hub)
    assert "jupyterhub_config.py was changed by hand" in first
    assert "nbgrader_config.py is missing" in second


def test_the_command_ends_with_one_where_anything_is_missing(
        hub: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (hub.parent / "exchange").rmdir()
    assert main(["hub", str(hub), "--check"]) == 1
    assert "is not there: install -d -m 777" in capsys.readouterr().out


def test_a_folder_without_a_hubs_files_is_told(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["hub", str(tmp_path), "--check"]) == 2
    assert "write a hub's files first" in capsys.readouterr().err


def test_a_hub_that_does_not_answer_is_told() -> None:
    (told,) = check_hub._running("http://127.0.0.1:9")
    assert "No hub answers at http://127.0.0.1:9" in told


@pytest.mark.slow
def test_the_probe_reads_what_a_server_of_each_role_would(hub: Path, tmp_path: Path,
                                                          monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    home = tmp_path / "home"
    home.mkdir()
    learner = check_hub._probe(hub / "learner", str(home))
    assert (learner["student_id"], learner["exchange"]) == ("learner", str(tmp_path / "exchange"))
    assert (home / "home.ipynb").is_file()
    instructor = check_hub._probe(hub / "instructor", str(tmp_path))
    assert (instructor["student_id"], instructor["root"]) == ("", str(tmp_path / "course"))
    assert instructor["frame"].endswith("frame-ancestors 'self'")
    assert all(one["frame"].startswith(check_hub.NO_OTHER_HOST) for one in (learner, instructor))
    assert not instructor["servers"]["nbgrader.server_extensions.assignment_list"]
