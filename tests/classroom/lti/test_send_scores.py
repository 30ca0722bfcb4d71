"""Scores: three states kept, each sent once whatever happens. LTI AGS 2.0, score service."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from lti_platform import ISSUER, ITEMS, SCORE, Platform

from acidbase_lib.classroom.gradebook.read_gradebook import GradeRow
from acidbase_lib.classroom.lti import send_scores as module
from acidbase_lib.classroom.lti.platform import learner_id
from acidbase_lib.classroom.lti.record import Context, Record, opened_record
from acidbase_lib.classroom.lti.scores import Score, score_of
from acidbase_lib.classroom.lti.send_scores import (
    Outcome,
    below,
    differences,
    line_item_of,
    send_scores,
    would_send,
)
from acidbase_lib.classroom.lti.service import PlatformService, ServiceError

pytestmark = pytest.mark.slow

USERS = ("u1", "u2", "u3")
PEOPLE = {learner_id(ISSUER, user): user for user in USERS}
IDS = {user: learner for learner, user in PEOPLE.items()}


def rows(*points: float | None) -> list[GradeRow]:
    """Lines of a gradebook; None is a file that could not be marked."""
    return [GradeRow(IDS[user], given, 12.0, "not marked" if given is None else "marked")
            for user, given in zip(USERS, points, strict=True)]


def scores(*points: float | None) -> list[Score]:
    return [score_of(row) for row in rows(*points)]


@pytest.fixture
def school(school: Platform) -> Platform:
    for user in USERS:
        school.member(user)
    return school


@pytest.fixture
def record(folder: Path) -> Iterator[Record]:
    with opened_record(folder) as book:
        yield book


@pytest.fixture
def item(service: PlatformService, context: Context) -> str:
    return line_item_of(service, context, "small", "A small unit", 12.0)


@pytest.fixture
def send(service: PlatformService, record: Record, context: Context, item: str):
    """Send some scores; what became of each, by the platform's id."""
    def sent(*points: float | None, also: Mapping[str, str] = PEOPLE) -> dict[str, Outcome]:
        return {PEOPLE[one.score.learner]: one for one in send_scores(
            service, record, context, item, scores(*points), also)}
    return sent


def became(outcomes: Mapping[str, Outcome]) -> list[str]:
    return [outcomes[user].became for user in USERS]


# --- the three states -----------------------------------------------------------------------------

def test_marked_not_marked_waiting_and_not_handed_in_are_told_apart() -> None:
    told = {state: score_of(row).body("u") for state, row in {
        "marked": GradeRow("a", 0.0, 12.0, "marked"),
        "repaired": GradeRow("a", 3.5, 12.0, "marked after repair"),
        "waiting": GradeRow("a", 10.0, 12.0, "marked", waiting=1),
        "unmarked": GradeRow("a", None, 12.0, "not marked"),
        "absent": GradeRow("a", None, 12.0, "not handed in")}.items()}
    assert told["marked"] == {"userId": "u", "scoreGiven": 0.0, "scoreMaximum": 12.0,
                              "activityProgress": "Completed", "gradingProgress": "FullyGraded"}
    assert told["repaired"]["scoreGiven"] == 3.5
    for state in ("waiting", "unmarked"):
        assert told[state] == {"userId": "u", "activityProgress": "Submitted",
                               "gradingProgress": "PendingManual"}
    assert told["absent"] == {"userId": "u", "activityProgress": "Initialized",
                              "gradingProgress": "NotReady"}


def test_points_so_far_are_sent_only_when_asked_and_named_as_partial() -> None:
    body = score_of(GradeRow("a", 10.0, 12.0, "marked", waiting=1), partial=True).body("u")
    assert (body["scoreGiven"], body["gradingProgress"]) == (10.0, "PendingManual")


def test_who_handed_nothing_in_is_not_told_of_unless_a_score_had_gone(
        school: Platform, send, service: PlatformService, record: Record, context: Context,
        item: str) -> None:
    absent = [score_of(GradeRow(IDS["u1"], None, 12.0, "not handed in"))]
    assert [one.became for one in send_scores(service, record, context, item, absent, PEOPLE)] == [
        "nothing to tell"]
    send(7.0, 8.0, 9.0)
    assert [one.became for one in send_scores(service, record, context, item, absent, PEOPLE)] == [
        "sent"]
    assert school.points() == {"u1": None, "u2": 8.0, "u3": 9.0}


def test_a_mark_that_is_no_more_is_cleared_and_is_no_zero(school: Platform, send) -> None:
    send(7.0, 8.0, 9.0)
    send(None, 8.0, 0.0)
    assert school.points() == {"u1": None, "u2": 8.0, "u3": 0.0}


# --- each once ------------------------------------------------------------------------------------

def test_a_second_run_sends_nothing(school: Platform, send) -> None:
    assert became(send(7.0, None, 9.0)) == ["sent"] * 3
    assert became(send(7.0, None, 9.0)) == ["as before"] * 3
    assert len(school.scores) == 3


def test_a_changed_mark_alone_is_sent_and_a_return_to_the_old_one_is_later(
        school: Platform, send) -> None:
    """AGS 2.0, timestamp: V1 at T1, V2 at T2, V1 again at T3, T1 < T2 < T3."""
    for points in (7.0, 7.5, 7.0):
        send(points, 8.0, 9.0)
    of_first = [one for one in school.scores if one["userId"] == "u1"]
    times = [one["timestamp"] for one in of_first]
    assert [one["scoreGiven"] for one in of_first] == [7.0, 7.5, 7.0]
    assert times == sorted(set(times))
    assert len(school.scores) == 5


def test_times_rise_even_where_the_clock_stands(record: Record) -> None:
    late = "2999-01-01T00:00:00.000Z"
    assert module._later_than(late) == "2999-01-01T00:00:00.001Z"
    assert module._later_than("") < late


def test_the_dry_run_tells_the_same_and_asks_nothing(school: Platform, send, record: Record,
                                                     item: str) -> None:
    asked = len(school.asked)
    dry = list(would_send(record, item, scores(7.0, None, 9.0), PEOPLE))
    assert [one.became for one in dry] == ["sent"] * 3
    assert len(school.asked) == asked
    send(7.0, None, 9.0)
    assert {one.became for one in would_send(record, item, scores(7.0, None, 9.0), PEOPLE)} == {
        "as before"}


# --- what goes wrong ------------------------------------------------------------------------------

def test_one_refusal_stops_nobody_elses_and_changes_nothing(school: Platform, send) -> None:
    school.refuses["u2"] = 422
    outcomes = send(7.0, 8.0, 9.0)
    assert became(outcomes) == ["sent", "refused", "sent"]
    assert outcomes["u2"].why == "the platform answered 422: this person cannot be graded"
    assert school.points() == {"u1": 7.0, "u3": 9.0}
    del school.refuses["u2"]
    assert became(send(7.0, 8.0, 9.0)) == ["as before", "sent", "as before"]


@pytest.mark.parametrize("points", [8.0, None])
def test_an_answer_that_never_came_is_not_sent_twice(school: Platform, send,
                                                     points: float | None) -> None:
    school.silent_after["u2"] = 1
    assert became(send(7.0, points, 9.0)) == ["sent"] * 3
    assert school.points() == {"u1": 7.0, "u2": points, "u3": 9.0}
    assert {cell.writes for cell in school.book.values()} == {1}


@pytest.mark.slow
def test_a_silence_that_lasts_is_not_waited_out(school: Platform, send,
                                                service: PlatformService) -> None:
    service._limit, school.silence = 1.0, 2.5
    school.silent_after["u2"] = 1
    assert became(send(7.0, 8.0, 9.0)) == ["sent"] * 3
    assert school.points() == {"u1": 7.0, "u2": 8.0, "u3": 9.0}
    assert {cell.writes for cell in school.book.values()} == {1}


def test_a_score_that_never_arrived_is_sent_again(school: Platform, send) -> None:
    school.silent_before["u2"] = 1
    assert became(send(7.0, 8.0, 9.0)) == ["sent"] * 3
    assert school.points() == {"u1": 7.0, "u2": 8.0, "u3": 9.0}


def test_a_learner_for_whom_no_answer_comes_is_told_and_done_in_the_next_run(
        school: Platform, send) -> None:
    school.silent_before["u2"] = 3
    assert became(send(7.0, 8.0, 9.0)) == ["sent", "no answer", "sent"]
    assert became(send(7.0, 8.0, 9.0)) == ["as before", "sent", "as before"]
    assert {cell.writes for cell in school.book.values()} == {1}


def test_a_partial_score_that_became_final_while_nobody_answered_is_sent_again(
        school: Platform, service: PlatformService, record: Record, context: Context,
        item: str) -> None:
    """As many points tell nothing there: the platform may hold them as partial still."""
    row = GradeRow(IDS["u1"], 8.0, 12.0, "marked", waiting=1)
    list(send_scores(service, record, context, item, [score_of(row, partial=True)], PEOPLE))
    school.silent_before["u1"] = 1
    final = score_of(GradeRow(IDS["u1"], 8.0, 12.0, "marked"))
    list(send_scores(service, record, context, item, [final], PEOPLE))
    assert school.book[item, "u1"].grading == "FullyGraded"


def test_a_replayed_score_is_refused_and_changes_nothing(
        school: Platform, send, service: PlatformService, item: str) -> None:
    send(7.0, 8.0, 9.0)
    send(1.0, 8.0, 9.0)
    old = school.scores[0]
    with pytest.raises(ServiceError, match="409"):
        service.post(below(item, "scores"), SCORE, module.SCORE, old)
    assert school.points() == {"u1": 1.0, "u2": 8.0, "u3": 9.0}
    assert school.book[item, "u1"].writes == 2


def test_a_newer_score_on_the_platform_is_told_and_left(school: Platform, send, item: str) -> None:
    send(7.0, 8.0, 9.0)
    school.book[item, "u1"].timestamp = "2999-01-01T00:00:00.000Z"
    outcomes = send(6.0, 8.0, 9.0)
    assert became(outcomes) == ["refused", "as before", "as before"]
    assert "holds a newer score" in outcomes["u1"].why
    assert school.points()["u1"] == 7.0


def test_somebody_whom_the_platform_never_named_is_not_sent(school: Platform, send) -> None:
    others = {learner: user for learner, user in PEOPLE.items() if user != "u3"}
    assert became(send(7.0, 8.0, 9.0, also=others)) == ["sent", "sent", "not on the platform"]
    assert school.points() == {"u1": 7.0, "u2": 8.0}


def test_a_token_that_ends_early_is_asked_for_anew(school: Platform, send) -> None:
    send(7.0, 8.0, 9.0)
    school.tokens.clear()
    assert became(send(6.0, 8.0, 9.0)) == ["sent", "as before", "as before"]


def test_told_to_wait_it_waits(school: Platform, send) -> None:
    school.busy = 1
    assert became(send(7.0, 8.0, 9.0)) == ["sent"] * 3
    assert len(school.scores) == 3


def test_no_token_sends_nothing_and_says_why(school: Platform, send) -> None:
    school.granted = (ITEMS,)
    with pytest.raises(ServiceError, match="gives no token for score"):
        send(7.0, 8.0, 9.0)
    assert not school.scores


def test_a_platform_that_says_nothing_more_is_not_waited_for_by_everyone(
        school: Platform, send, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "SILENT", 1)
    school.silent_before.update(u1=9, u2=9)
    assert became(send(7.0, 8.0, 9.0)) == ["no answer", "not tried", "not tried"]


def test_a_redirect_is_not_followed_with_the_token(school: Platform, send) -> None:
    school.refuses["u1"] = 302
    assert send(7.0, 8.0, 9.0)["u1"].why.startswith("the platform answered 302")
    assert not [path for _, path in school.asked if path == "/caught"]


def test_nothing_is_sent_to_an_address_without_tls(service: PlatformService) -> None:
    with pytest.raises(ServiceError, match="no address by TLS"):
        service.post("http://platform.example.edu/scores", SCORE, module.SCORE, {})


def test_what_somebody_changed_on_the_platform_is_told(
        school: Platform, send, service: PlatformService, context: Context, item: str) -> None:
    send(7.0, None, 9.0)
    assert differences(service, context, item, scores(7.0, None, 9.0), PEOPLE) == {}
    school.book[item, "u1"].points = 11.0
    school.book[item, "u3"].points = None
    assert differences(service, context, item, scores(7.0, None, 9.0), PEOPLE) == {
        IDS["u1"]: "11 of 12", IDS["u3"]: "no points"}


# --- the line item --------------------------------------------------------------------------------

def test_one_line_item_a_unit_however_often(school: Platform, service: PlatformService,
                                            context: Context) -> None:
    made = {line_item_of(service, context, unit, unit, 12.0) for unit in ("a", "b", "a", "b")}
    assert len(made) == len(school.items) == 2
    assert school.items[0]["resourceId"] == "acidbase-a"


def test_another_units_line_item_is_never_taken_for_ours(
        school: Platform, service: PlatformService, context: Context) -> None:
    school.knows_filters = False
    first = line_item_of(service, context, "b", "b", 12.0)
    assert line_item_of(service, context, "a", "a", 12.0) != first


def test_a_line_item_of_whose_making_no_answer_came_is_found_and_not_doubled(
        school: Platform, service: PlatformService, context: Context) -> None:
    school.silent_after["items"] = 1
    assert line_item_of(service, context, "a", "a", 12.0) == school.items[0]["id"]
    assert len(school.items) == 1


def test_a_column_of_another_maximum_shows_the_same_share(
        school: Platform, send, service: PlatformService, context: Context, item: str) -> None:
    """AGS 2.0: a platform re-scales to its line item's maximum."""
    school.items[0]["scoreMaximum"] = 100.0
    send(6.0, 12.0, 0.0)
    assert school.points() == {"u1": 50.0, "u2": 100.0, "u3": 0.0}
    assert differences(service, context, item, scores(6.0, 12.0, 0.0), PEOPLE) == {}


# --- a stop at any moment -------------------------------------------------------------------------

class Stopped(BaseException):
    """The process was ended here."""


def stops_at(place: int, monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """End the run before or after its Nth note, or its Nth question to the platform."""
    count: Counter[str] = Counter()

    def wrapped(whole):
        def does(*given, **named):
            for moment in ("before", "after"):
                count["moments"] += 1
                if count["moments"] == place:
                    raise Stopped
                if moment == "before":
                    result = whole(*given, **named)
            return result
        return does

    for kind, names in ((Record, ("begin", "end")), (PlatformService, ("_ask",))):
        for name in names:
            monkeypatch.setattr(kind, name, wrapped(getattr(kind, name)))
    return count


@pytest.mark.slow
def test_ended_at_any_moment_a_second_run_ends_with_the_same_book_and_nothing_doubled(
        school: Platform, folder: Path, service: PlatformService, context: Context) -> None:
    def whole_run() -> None:
        with opened_record(folder) as record:
            item = line_item_of(service, context, "small", "A small unit", 12.0)
            list(send_scores(service, record, context, item, scores(7.0, None, 9.0), PEOPLE))

    place, ended = 0, True
    while ended:
        place += 1
        school.book.clear()
        school.items.clear()
        (folder / "record.db").unlink(missing_ok=True)
        with pytest.MonkeyPatch.context() as patch:
            stops_at(place, patch)
            try:
                whole_run()
                ended = False
            except Stopped:
                pass
        whole_run()
        assert school.points() == {"u1": 7.0, "u2": None, "u3": 9.0}, place
        assert {cell.writes for cell in school.book.values()} == {1}, place
    assert place > 20


def test_a_score_is_noted_before_it_is_sent(school: Platform, send, record: Record, item: str,
                                            monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PlatformService, "post", lambda *_: (_ for _ in ()).throw(Stopped))
    with pytest.raises(Stopped):
        send(7.0, 8.0, 9.0)
    noted = record.last(item, IDS["u1"])
    assert noted is not None
    assert noted.state == "sending"
    assert json.loads(noted.body)["scoreGiven"] == 7.0


def test_a_query_in_a_line_items_address_is_kept() -> None:
    """AGS 2.0: "any query or route parameters from the line item url must also be added"."""
    assert below("https://p.example/i/1?c=2&d=", "results", user_id="a b") == (
        "https://p.example/i/1/results?c=2&d=&user_id=a+b")
