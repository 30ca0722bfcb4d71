"""The files of a hub: all or none, learners' and instructors' apart, nothing of yours lost."""

from __future__ import annotations

import ast
import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from traitlets.config.loader import PyFileConfigLoader

from acidbase_lib import __version__
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.hub.hub_files import files_of, write_hub_files
from acidbase_lib.classroom.hub.hub_plan import HubPlan, read_record

PLAN = HubPlan("/etc/acidbase", "/srv/acidbase", "/srv/exchange", ("teacher",))


def config_of(folder: Path, name: str):
    return PyFileConfigLoader(name, path=str(folder)).load_config()


def hub_config(folder: Path):
    return config_of(folder, "jupyterhub_config.py")


def spawned(hook, name: str, *groups: str) -> SimpleNamespace:
    """What the hook makes of somebody's spawner."""
    spawner = SimpleNamespace(
        user=SimpleNamespace(name=name, groups=[SimpleNamespace(name=one) for one in groups]),
        environment={"PATH": "/opt"}, default_url="")
    hook(spawner)
    return spawner


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    out = tmp_path / "hub"
    write_hub_files(HubPlan(str(out), "/srv/acidbase", "/srv/exchange", ("teacher",)), out)
    return out


@pytest.mark.parametrize("kubernetes", [False, True])
def test_every_file_is_written_says_its_version_and_can_be_read(kubernetes: bool) -> None:
    plan = HubPlan(PLAN.out, PLAN.course, PLAN.exchange, PLAN.instructors, kubernetes=kubernetes)
    for name, text in files_of(plan).items():
        assert "$" not in text, name
        assert name.endswith("page_config.json") or name.endswith("acidbase.json") or (
            __version__ in text), name
        if name.endswith(".py"):
            ast.parse(text)
        if name.endswith(".json"):
            json.loads(text)


def test_an_instructor_gets_the_instructors_settings_and_nobody_else_does(folder: Path) -> None:
    hook = hub_config(folder).Spawner.pre_spawn_hook
    for who in (spawned(hook, "teacher"), spawned(hook, "dana", "instructors")):
        assert who.environment == {"PATH": "/opt", "JUPYTER_CONFIG_PATH": f"{folder}/instructor"}
        assert who.default_url == "/lab"
    learner = spawned(hook, "anna", "nurses")
    assert learner.environment["JUPYTER_CONFIG_PATH"] == f"{folder}/learner"
    assert learner.default_url == "/notebooks/home.ipynb"


def rule(settings) -> dict[str, set[str]]:
    """The pages' Content-Security-Policy, as the World Wide Web Consortium's level 3 writes it."""
    said = settings.tornado_settings["headers"]["Content-Security-Policy"]
    return {name: set(sources) for name, *sources in map(str.split, said.split(";"))}


@pytest.mark.parametrize("role", ["learner", "instructor"])
def test_no_page_may_ask_another_host(folder: Path, tmp_path: Path, role: str,
                                      monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    said = rule(config_of(folder / role, "jupyter_server_config.py").ServerApp)
    assert set(said) == {"default-src", "frame-ancestors"}, "what is not named falls to default-src"
    assert said["default-src"] == {"'self'", "'unsafe-inline'", "'unsafe-eval'", "data:", "blob:"}
    assert said["frame-ancestors"] == {"'none'" if role == "learner" else "'self'"}


def test_the_marking_screen_may_be_framed_by_its_own_server_alone(folder: Path) -> None:
    settings = config_of(folder / "instructor", "jupyter_server_config.py").ServerApp
    assert rule(settings)["frame-ancestors"] == {"'self'"}
    assert settings.root_dir == "/srv/acidbase", "the screen refuses a course outside it"


@pytest.mark.parametrize("role", ["learner", "instructor"])
def test_each_role_sees_its_own_tools_and_no_news(folder: Path, role: str) -> None:
    page = json.loads((folder / role / "labconfig" / "page_config.json").read_text())
    servers = json.loads((folder / role / "jupyter_server_config.d" / "acidbase.json").read_text())
    on = {name.rsplit(".", 1)[-1] for name, here in
          servers["ServerApp"]["jpserver_extensions"].items() if here}
    off = page["disabledExtensions"]
    assert "@jupyterlab/apputils-extension:announcements" in off
    if role == "learner":
        assert on == {"assignments_when_asked"}
        assert {"@jupyter/nbgrader:create-assignment", "@jupyter/nbgrader:formgrader"} <= set(off)
    else:
        assert "formgrader" in on
        assert "@jupyter/nbgrader:formgrader" not in off


def test_a_learners_id_is_the_hubs_name(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JUPYTERHUB_USER", "anna")
    assert config_of(folder / "learner", "nbgrader_config.py").CourseDirectory.student_id == "anna"


def test_a_chart_is_given_the_same_files_and_the_same_hook(tmp_path: Path) -> None:
    yaml = pytest.importorskip("yaml")
    plan = HubPlan(PLAN.out, PLAN.course, PLAN.exchange, PLAN.instructors, kubernetes=True)
    values = yaml.safe_load(files_of(plan)["values.yaml"])
    mounted = {one["mountPath"]: one["stringData"]
               for one in values["singleuser"]["extraFiles"].values()}
    for name, text in files_of(PLAN).items():
        if name.startswith(("learner/", "instructor/")):
            assert mounted[f"/etc/acidbase/{name}"] == text
    names: dict[str, object] = {"c": SimpleNamespace(Spawner=SimpleNamespace())}
    exec(values["hub"]["extraConfig"]["acidbase"], names)
    assert spawned(names["for_whom"], "teacher").default_url == "/lab"


def test_written_again_the_files_stay_for_the_same_school(tmp_path: Path) -> None:
    out = str(tmp_path / "hub")
    assert main(["hub", out, "--instructor", "dana", "--course", "/srv/nursing",
                 "--contact", "the skills lab"]) == 0
    first = read_record(tmp_path / "hub")
    assert main(["hub", out, "--force"]) == 0
    assert read_record(tmp_path / "hub") == first
    assert main(["hub", out, "--force", "--instructor", "erin"]) == 0
    now = read_record(tmp_path / "hub")
    assert (now.instructors, now.course, now.contact) == (
        ("erin",), "/srv/nursing", "the skills lab")


def test_a_damaged_record_can_be_written_over(tmp_path: Path) -> None:
    out = tmp_path / "hub"
    assert main(["hub", str(out), "--instructor", "dana"]) == 0
    (out / "acidbase-hub.json").write_text("{")
    assert main(["hub", str(out), "--force", "--instructor", "dana"]) == 0
    assert read_record(out).instructors == ("dana",)


def test_a_folder_with_other_things_is_refused_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("mine")
    with pytest.raises(CommandError, match=r"holds other things \(thesis.txt\)"):
        write_hub_files(PLAN, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.txt"]


def test_a_thing_of_yours_beside_ours_is_refused_too(folder: Path) -> None:
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(CommandError, match=r"notes\.txt"):
        write_hub_files(PLAN, folder, force=True)
    assert (folder / "notes.txt").read_text() == "mine"


def test_written_again_only_when_asked_and_local_stays(folder: Path) -> None:
    (folder / "local.py").write_text("c = get_config()\nc.JupyterHub.port = 8123\n")
    (folder / "local.py").chmod(0o600)
    with pytest.raises(CommandError, match="--force"):
        write_hub_files(PLAN, folder)
    (folder / "jupyterhub_config.py").write_text("broken")
    write_hub_files(HubPlan(str(folder), "/srv/acidbase", "/srv/exchange"), folder, force=True)
    assert (folder / "local.py").read_text().endswith("8123\n")
    assert (folder / "local.py").stat().st_mode & 0o777 == 0o600
    assert read_record(folder).instructors == ()


def test_local_is_read_last(folder: Path) -> None:
    (folder / "local.py").write_text("c = get_config()\nc.Spawner.mem_limit = '1G'\n")
    assert hub_config(folder).Spawner.mem_limit == "1G"


@pytest.mark.slow
@pytest.mark.parametrize(("words", "said"), [
    (["--exchange", "exchange"], "--exchange is 'exchange'; it must be a whole path"),
    (["--course", "/srv/../etc"], "--course is '/srv/../etc'"),
    (["--course", '/srv/"; import os; "'], "it must be a whole path"),
    (["--instructor", "a b"], "--instructor 'a b' is no name to sign in with"),
    (["--contact", 'say "hi"'], "without quotation marks"),
    (["--running", "http://127.0.0.1"], "--running goes with --check"),
])
def test_what_cannot_stand_in_a_settings_file_is_refused(
        tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    assert main(["hub", str(tmp_path / "hub"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "hub").exists()
