"""Scores sent to a line item, each once, also after a stop at any moment; what became of each."""
from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from .record import ACCEPTED, REFUSED, SENDING, Context, Record
from .scores import Score
from .service import PAUSES, TRIES, NoAnswerError, PlatformService, RefusedError, ServiceError

SCOPE = "https://purl.imsglobal.org/spec/lti-ags/scope/"
LINE_ITEMS, READ_LINE_ITEMS = f"{SCOPE}lineitem", f"{SCOPE}lineitem.readonly"
RESULTS, SCORES = f"{SCOPE}result.readonly", f"{SCOPE}score"
LINE_ITEM = "application/vnd.ims.lis.v2.lineitem+json"
CONTAINER = "application/vnd.ims.lis.v2.lineitemcontainer+json"
RESULT = "application/vnd.ims.lis.v2.resultcontainer+json"
SCORE = "application/vnd.ims.lis.v1.score+json"
OURS = "acidbase"  # the line items' tag, and the beginning of their resourceId
SILENT = 3  # learners in a row without any answer: the platform is down, the rest can wait
ROUNDED = 0.01  # by how much a platform's points may differ from ours [points]
SENT, BEFORE, REFUSED_IT, NO_ANSWER = "sent", "as before", "refused", "no answer"
UNKNOWN, NOTHING, LATER = "not on the platform", "nothing to tell", "not tried"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one learner's score, or in a dry run would become."""

    score: Score
    became: str
    why: str = ""


def below(address: str, name: str, **query: str) -> str:
    """Return an address one step down, its query kept and added to.

    Examples
    --------
    >>> below("https://platform.example.edu/items/1?c=2", "scores")
    'https://platform.example.edu/items/1/scores?c=2'
    """
    parts = urlsplit(address)
    path = f"{parts.path.rstrip('/')}/{name}" if name else parts.path
    asked = [*parse_qsl(parts.query, keep_blank_values=True), *query.items()]
    return urlunsplit((parts.scheme, parts.netloc, path, urlencode(asked), ""))


def known_line_item(service: PlatformService, context: Context, unit: str) -> str:
    """Return the line item of a unit on the platform; "" where there is none yet.

    Raises
    ------
    ServiceError
        The course has no line items for this tool, or the platform does not answer or refuses.
    """
    if not context.line_items:
        raise ServiceError("the platform did not tell where its line items are: switch assignment "
                           "and grade services on for this tool, then open the tool once from the "
                           "course")
    scope = LINE_ITEMS if _may(context, LINE_ITEMS) else READ_LINE_ITEMS
    address = below(context.line_items, "", resource_id=f"{OURS}-{unit}", tag=OURS)
    found = [str(item["id"]) for page in service.pages(address, scope, CONTAINER)
             for item in (page if isinstance(page, list) else ())
             if isinstance(item, dict) and item.get("id")
             # a platform may not know the filters
             and (item.get("resourceId"), item.get("tag")) == (f"{OURS}-{unit}", OURS)]
    return min(found, default="")


def line_item_of(service: PlatformService, context: Context, unit: str, label: str,
                 maximum: float) -> str:
    """Return the line item of a unit, made where there is none; asked for again, never doubled.

    Parameters
    ----------
    service : PlatformService
        The platform.
    context : Context
        The course.
    unit : str
        Such as "02_primary_disorder".
    label : str
        What the column is headed with.
    maximum : float
        The most that can be earned. [points]

    Raises
    ------
    ServiceError
        See `known_line_item`; or the platform makes none.
    """
    for number in range(TRIES):
        if found := known_line_item(service, context, unit):
            return found
        if not _may(context, LINE_ITEMS):
            break
        try:
            made = service.post(context.line_items, LINE_ITEMS, LINE_ITEM, {
                "scoreMaximum": maximum, "label": label, "resourceId": f"{OURS}-{unit}",
                "tag": OURS}).body
        except NoAnswerError:  # it may be there now: look before another is made
            if number == TRIES - 1:
                raise
            service.pause(PAUSES[number])
            continue
        if isinstance(made, dict) and made.get("id"):
            return str(made["id"])
    raise ServiceError(f"the platform has no line item for {unit} and lets this tool make none: "
                       "allow it, or make a column there and name its line item with --line-item")


def would_send(record: Record, line_item: str, scores: Sequence[Score],
               people: Mapping[str, str]) -> Iterator[Outcome]:
    """Yield what would be sent to a line item ("" for one not yet made); nothing is asked."""
    for score in scores:
        yield Outcome(score, _before(record, line_item, score, people) or SENT)


def send_scores(service: PlatformService, record: Record, context: Context, line_item: str,
                scores: Sequence[Score], people: Mapping[str, str]) -> Iterator[Outcome]:
    """Send what is not there yet, one learner after the other; a refusal stops nobody else's.

    Before each score it is noted with its time; a score of which no answer came is sent again with
    that same time, unless the platform shows it already.

    Parameters
    ----------
    service : PlatformService
        The platform.
    record : Record
        What was sent so far.
    context : Context
        The course.
    line_item : str
        Its address.
    scores : sequence of Score
        Everyone's.
    people : mapping of str to str
        Learner's id to the platform's.

    Raises
    ------
    ServiceError
        No token is given; nothing more is sent.

    References
    ----------
    1EdTech, LTI Assignment and Grade Services 2.0, "timestamp".
    """
    silent = 0
    for score in scores:
        if became := _before(record, line_item, score, people):
            yield Outcome(score, became)
        elif silent >= SILENT:
            yield Outcome(score, LATER, "the platform does not answer")
        else:
            outcome = _send(service, record, context, line_item, score, people[score.learner])
            silent = silent + 1 if outcome.became == NO_ANSWER else 0
            yield outcome


def differences(service: PlatformService, context: Context, line_item: str,
                scores: Sequence[Score], people: Mapping[str, str]) -> dict[str, str]:
    """Return for whom the platform shows other points than were sent, and which.

    Raises
    ------
    ServiceError
        Results cannot be read.
    """
    if not _may(context, RESULTS):
        raise ServiceError("the platform lets this tool read no results")
    shown = {str(one.get("userId")): one
             for page in service.pages(below(line_item, "results"), RESULTS, RESULT)
             for one in (page if isinstance(page, list) else ()) if isinstance(one, dict)}
    found = {}
    for score in scores:
        points = _points(shown.get(people.get(score.learner, ""), {}), score.maximum)
        if (score.given is None) != (points is None) or (
                points is not None and score.given is not None
                and abs(points - score.given) > ROUNDED):
            found[score.learner] = "no points" if points is None else (
                f"{points:g} of {score.maximum:g}")
    return found


def _before(record: Record, line_item: str, score: Score, people: Mapping[str, str]) -> str:
    """What there is to say without sending; "" where there is something to send."""
    last = record.last(line_item, score.learner)
    if score.is_nothing and last is None:
        return NOTHING
    if score.learner not in people:
        return UNKNOWN
    there = last is not None and last.state != SENDING and last.accepted == _text(
        score, people[score.learner])
    return BEFORE if there else ""


def _send(service: PlatformService, record: Record, context: Context, line_item: str,
          score: Score, user: str) -> Outcome:
    body, last = _text(score, user), record.last(line_item, score.learner)
    unknown = last is not None and last.state == SENDING and last.body == body
    if unknown and last is not None:
        timestamp = last.timestamp
    else:
        timestamp = _later_than(last.timestamp if last else "")
        record.begin(line_item, score.learner, body, timestamp)
    whole = {**score.body(user), "timestamp": timestamp}
    # what the platform shows tells nothing where it showed as many points before
    telling = not (last and last.accepted) or (
        json.loads(last.accepted).get("scoreGiven") != score.given)
    for number in range(TRIES):
        if unknown and telling and _is_shown(service, context, line_item, score, user):
            break
        try:
            service.post(below(line_item, "scores"), SCORES, SCORE, whole)
            break
        except RefusedError as refused:
            if refused.status == 409 and (
                    unknown or _is_shown(service, context, line_item, score, user)):
                break  # it had arrived: no other time of ours is as late as this one
            why = str(refused) if refused.status != 409 else (
                "the platform holds a newer score; nothing was changed there")
            record.end(line_item, score.learner, REFUSED, why)
            return Outcome(score, REFUSED_IT, why)
        except NoAnswerError as silence:
            unknown = True
            if number == TRIES - 1:
                return Outcome(score, NO_ANSWER, str(silence))
            service.pause(PAUSES[number])
    record.end(line_item, score.learner, ACCEPTED)
    return Outcome(score, SENT)


def _is_shown(service: PlatformService, context: Context, line_item: str, score: Score,
              user: str) -> bool:
    """True where the platform surely shows this score; only then is it not sent again."""
    if score.given is None or not _may(context, RESULTS):
        return False
    try:
        body = service.get(below(line_item, "results", user_id=user), RESULTS, RESULT).body
    except ServiceError:
        return False
    found = [one for one in (body if isinstance(body, list) else ())
             if isinstance(one, dict) and str(one.get("userId")) == user]
    points = _points(found[0], score.maximum) if len(found) == 1 else None
    return points is not None and abs(points - score.given) <= 1e-9 * score.maximum


def _points(result: Mapping[str, Any], maximum: float) -> float | None:
    """A result's points out of our maximum; None where it has none."""
    points, most = result.get("resultScore"), result.get("resultMaximum", 1)
    if not isinstance(points, int | float) or not isinstance(most, int | float) or most <= 0:
        return None
    return points / most * maximum


def _may(context: Context, scope: str) -> bool:
    return not context.scopes or scope in context.scopes


def _text(score: Score, user: str) -> str:
    return json.dumps(score.body(user), sort_keys=True)


def _later_than(last: str) -> str:
    """The time now to the millisecond, and in any case later than the last."""
    now = datetime.now(UTC)
    if last:
        now = max(now, datetime.fromisoformat(last) + timedelta(milliseconds=1))
    return now.isoformat(timespec="milliseconds").replace("+00:00", "Z")
