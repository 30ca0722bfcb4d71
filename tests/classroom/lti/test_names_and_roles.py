"""Names and roles: every page, learners only, nobody else's computer. LTI NRPS 2.0."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from lti_platform import COURSE, INSTRUCTOR, ISSUER, LEARNER, ROLE, Platform

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.roster import read_roster
from acidbase_lib.classroom.lti.launch import keep_launch
from acidbase_lib.classroom.lti.names_and_roles import is_learner, members_of
from acidbase_lib.classroom.lti.platform import learner_id
from acidbase_lib.classroom.lti.record import Context, opened_record
from acidbase_lib.classroom.lti.service import PlatformService, ServiceError


@pytest.fixture
def school(school: Platform) -> Platform:
    """A course of 60 learners on two pages, and others."""
    for number in range(60):
        school.member(f"u{number}", given_name=f"Given{number}", family_name=f"Family{number}",
                      email=f"u{number}+x@school.example", picture="https://x.example/face.png")
    school.member("teacher", INSTRUCTOR, name="Tess Teacher")
    school.member("both", LEARNER, f"{ROLE}Mentor")
    school.member("left", status="Inactive")
    school.member("trial", LEARNER, "http://purl.imsglobal.org/vocab/lti/system/person#TestUser")
    school.member("guest", "http://purl.imsglobal.org/vocab/lis/v2/institution/person#Student")
    school.member("plain", "Learner", name="Ida Plain")
    return school


def test_two_pages_are_read_and_only_learners_kept(school: Platform, service: PlatformService,
                                                   context: Context) -> None:
    found = members_of(service, ISSUER, context.members)
    assert {one.user for one in found.learners} == {f"u{n}" for n in range(60)} | {"plain"}
    assert school.asked.count(("GET", "/members")) == 2
    assert dict(found.left_out) == {
        "teaches or runs the course": 2, "no longer active (inactive)": 1,
        "the platform's test person": 1, "in another role": 1}


@pytest.mark.parametrize(("roles", "so"), [
    ([LEARNER], True), (["Learner"], True),
    ([LEARNER, f"{ROLE[:-1]}/Learner#NonCreditLearner"], True),
    ([f"{ROLE[:-1]}/Learner#GuestLearner"], True),
    ([LEARNER, f"{ROLE[:-1]}/Instructor#TeachingAssistant"], False),
    ([INSTRUCTOR], False), ([], False), (["https://x.example/role#Learner"], False),
    ([f"{ROLE}LearnerInstructor"], False)])
def test_who_is_a_learner(roles: list[str], so: bool) -> None:
    """LTI core 1.3, A.2.3: context roles, their sub-roles, and simple names."""
    assert is_learner(roles) is so


def test_a_next_page_on_another_computer_is_not_followed(
        school: Platform, service: PlatformService, context: Context) -> None:
    school.elsewhere = "https://elsewhere.example"
    with pytest.raises(ServiceError, match=r"goes on at another computer, elsewhere\.example"):
        members_of(service, ISSUER, context.members)


def test_pages_without_an_end_are_left(school: Platform, service: PlatformService,
                                       context: Context) -> None:
    school.page = 0
    with pytest.raises(ServiceError, match="have no end"):
        members_of(service, ISSUER, context.members)


def test_without_the_scope_it_is_said_what_to_look_at(
        school: Platform, service: PlatformService, context: Context) -> None:
    school.granted = ()
    with pytest.raises(ServiceError, match=r"no token for contextmembership\.readonly .*service is "
                                           "switched on"):
        members_of(service, ISSUER, context.members)


# --- the command ----------------------------------------------------------------------------------

@pytest.fixture
def launched(school: Platform, folder: Path) -> Path:
    """Somebody opened the tool once from the course."""
    keep_launch(folder, ISSUER, school.launch_claims("teacher", "n", INSTRUCTOR))
    return folder.parent


def test_the_class_list_can_be_read_and_holds_names_and_nothing_more(
        launched: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = launched / "roster.csv"
    assert main(["lti", "roster", str(out), "--course", str(launched)]) == 0
    lines = {line.learner: line.name for line in read_roster(out)}
    assert len(lines) == 61
    assert lines[learner_id(ISSUER, "u7")] == "Given7 Family7"
    assert lines[learner_id(ISSUER, "plain")] == "Ida Plain"
    assert "@" not in out.read_text()
    assert "https:" not in out.read_text()
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert "61 learners of Acid and base" in capsys.readouterr().out


def test_an_older_list_is_written_over_only_when_asked(launched: Path,
                                                       capsys: pytest.CaptureFixture[str]) -> None:
    out = launched / "roster.csv"
    out.write_text("mine")
    words = ["lti", "roster", str(out), "--course", str(launched)]
    assert main(words) == 2
    assert out.read_text() == "mine"
    assert main([*words, "--force"]) == 0
    assert len(read_roster(out)) == 61


def test_a_platform_that_does_not_answer_leaves_no_list(
        school: Platform, launched: Path, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("acidbase_lib.classroom.lti.service.PAUSES", (0.0, 0.0))
    school.down = True
    assert main(["lti", "roster", str(launched / "roster.csv"), "--course", str(launched)]) == 2
    assert "gives no token" in capsys.readouterr().err
    assert not (launched / "roster.csv").exists()


def test_a_launch_leaves_an_id_and_addresses_and_nothing_else_of_the_person(
        school: Platform, folder: Path) -> None:
    keep_launch(folder, ISSUER, school.launch_claims("u7", "n", LEARNER))
    keep_launch(folder, ISSUER, school.launch_claims("teacher", "n", INSTRUCTOR))
    with opened_record(folder) as record:
        assert record.people() == {learner_id(ISSUER, "u7"): "u7"}
        (context,) = record.contexts()
    assert (context.id, context.members) == (COURSE, f"{school.address}/members?course=9")
    data = (folder / "record.db").read_bytes()
    assert b"school.example" not in data
    assert b"Quill" not in data
    assert stat.S_IMODE((folder / "record.db").stat().st_mode) == 0o600


def test_a_link_that_tells_less_takes_no_address_away(school: Platform, folder: Path) -> None:
    whole = school.launch_claims("u1", "n", LEARNER)
    keep_launch(folder, ISSUER, whole)
    keep_launch(folder, ISSUER, {name: value for name, value in whole.items()
                                 if "nrps" not in name and "ags" not in name})
    with opened_record(folder) as record:
        (context,) = record.contexts()
    assert context.members
    assert context.line_items


def test_who_is_forgotten_is_in_no_byte_of_the_record(school: Platform, launched: Path,
                                                      capsys: pytest.CaptureFixture[str]) -> None:
    user = "a-number-that-is-found"
    keep_launch(launched / "lti", ISSUER, school.launch_claims(user, "n", LEARNER))
    record = launched / "lti" / "record.db"
    assert user.encode() in record.read_bytes()
    assert main(["lti", "forget", learner_id(ISSUER, user), "--course", str(launched)]) == 0
    assert user.encode() not in record.read_bytes()
    assert learner_id(ISSUER, user).encode() not in record.read_bytes()
    keep_launch(launched / "lti", ISSUER, school.launch_claims(user, "n", LEARNER))
    with opened_record(launched / "lti") as book:
        book._book.execute("PRAGMA secure_delete = OFF")  # on or off by how SQLite was built
        book.forget(learner_id(ISSUER, user))
    assert user.encode() not in record.read_bytes()
