"""What an option means: a label, an acuity, a gap, a gas, a number, a state; or none of these."""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.disorders import Label, read_label
from acidbase_lib.teaching.handwritten.question_sheet import WrittenQuestion
from acidbase_lib.teaching.questions.spelling import spell_out

from .claims import Claim, claims_in, claims_of, named_in
from .numbers import tidy
from .sample import Sample, numbers_of

AskedKind = Literal[
    "label", "which gas", "number", "state", "statement", "which value", "what first", "other"
]

_LABEL_WORD: Final = (r"(?:acute(?:ly)?|chronic(?:ally)?|simple|primary|mixed|combined|"
                      r"un-?compensated"
                      r"|non-?compensated|compensated|partial(?:ly)?|partly|incomplete(?:ly)?|"
                      r"full(?:y)?"
                      r"|complete(?:ly)?|totally|not|no|without|with|renal|respiratory|resp|"
                      r"metabolic"
                      r"|compensation|and|plus|on|a|an|acid(?:osis|[a]?emia)|alkal(?:osis|[a]?emia)"
                      r"|acidotic|alkalotic)\b\.?")
_PHRASE: Final = re.compile(rf"\b{_LABEL_WORD}(?:[\s,;:()/+-]+{_LABEL_WORD})*", re.I)
_CORE: Final = re.compile(r"acidosis|alkalosis|acida?emia|alkala?emia", re.I)
_CAUSE: Final = re.compile(r"\b(?:due to|caused by|secondary to|because|from|related to|"
                           r"as a result|"
                           r"resulting|after|following|in which|that|which|since|as shown|; )\b.*$",
                           re.I | re.S)
_HOW_FAR: Final = re.compile(r"\b(un|not|no|partial|partially|partly|full|fully|completely)[\s-]*"
                             r"(?:\w+\s){0,2}?compensat|\bcompensat\w+\s(?:\w+\s){0,2}?"
                             r"(partially|partly|fully|completely)\b", re.I)
_GAP: Final = re.compile(
    r"(?:,?\s*(?:with\s+(?:an?\s+)?)?(?P<how>high|raised|elevated|increased|wide(?:ned)?|normal|"
    r"non|low)[\s-]+(?:anion[\s-]+)?gap(?:\s+type)?|\b(?P<short>hagma|nagma|hyperchloremic)\b)",
    re.I)
_OPENING: Final = re.compile(
    r"^\s*(?:(?:this|it|the (?:patient|client|gas|abg|result)|he|she|mr\.? \w+|mrs\.? \w+|"
    r"ms\.? \w+)"
    r"\s+(?:is now|has become|became|is|has|shows?|had|in|are)"
    r"\s+(?:in\s+)?(?:an?\s+)?|(?:an?|the)\s+)", re.I)
_TAIL: Final = re.compile(r"\s*\((?:normal|low|high|[^)]*\d[^)]*)\)\s*$")


@dataclass(frozen=True, slots=True)
class Meaning:
    """An option understood; what it does not say is None.

    `label` names disorder and compensation, `acuity` is "acute" or "chronic", `gap` is "high" or
    "normal"; `sample` is a gas it prints, `number` the ends of a number or range, `state` a word
    such as "low". `claims` are what it says of values, `named` the values that it names;
    `rest` is what else a sentence says in which a label was found.
    `misread` is what makes a label impossible, such as a compensated normal gas.
    """

    label: Label | None = None
    acuity: str | None = None
    gap: str | None = None
    sample: Sample | None = None
    number: tuple[float, float] | None = None
    state: str | None = None
    misread: str = ""
    claims: tuple[Claim, ...] = ()
    rest: str = ""
    named: frozenset[str] | None = None

    @property
    def sense(self) -> tuple[object, ...]:
        """What makes two options the same answer; empty where it is not understood."""
        if self.label is not None:
            return ("label", self.label.disorder, self.label.compensation, self.acuity, self.gap,
                    self.rest)
        if self.claims:
            return ("claims", *self.claims)
        if self.named is not None:
            return ("named", *sorted(self.named))
        if self.state is not None:
            return ("state", self.state)
        if self.sample is not None and self.sample.gas is not None:
            gas = self.sample.gas
            return ("gas", gas.ph, gas.paco2, gas.hco3)
        if self.number is not None:
            return ("number", *self.number)
        return ()


def meaning_of(text: str) -> Meaning:
    """Read one option."""
    plain = re.sub(r"\s+", " ", tidy(text)).strip(" .;")
    samples = numbers_of(text).samples
    if samples and samples[-1].has("ph") and (samples[-1].has("paco2") or samples[-1].has("hco3")):
        return Meaning(sample=samples[-1])
    if re.search(r"\b(?:over|hyper|super)-?\s?compensat", plain, re.I):
        return Meaning(misread=f"{plain}: a body does not compensate beyond its aim")
    claims = claims_of(plain)
    state = _state(plain) if len(claims) < 2 else None
    if claims:
        return Meaning(state=state, claims=claims)
    label, misread = _label_in(plain)
    if label is not None or misread:
        return Meaning(label, _acuity(plain), _gap(plain), misread=misread, rest=_rest(plain))
    if state and not claims_in(plain):
        return Meaning(state=state)
    if (named := named_in(plain)) is not None:
        return Meaning(named=named)
    return Meaning(number=_number(plain))


def labels_in(text: str) -> list[tuple[Label, str]]:
    """Every label phrase in a longer text, with its words."""
    found = []
    for match in _PHRASE.finditer(_GAP.sub(" ", tidy(text))):
        if _CORE.search(match[0]):
            label, _ = _read(match[0])
            if label is not None:
                found.append((label, match[0]))
    return found


def _label_in(plain: str) -> tuple[Label | None, str]:
    short = _GAP.sub(" ", _TAIL.sub("", _OPENING.sub("", plain)))
    label, misread = _read(short)
    if label is not None or misread:
        return label, misread
    how_far = _HOW_FAR.search(short)
    short = _CAUSE.sub("", short).strip(" ,;:")
    if short:
        if how_far and "compens" not in short.lower():
            short = f"{how_far[1] or how_far[2]} compensated {short}"
        label, misread = _read(short)
        if label is not None or misread:
            return label, misread
    if re.search(r"\b(?:give|treat|administer|correct|rather|instead|prevent|explain|teach|tell"
                 r"|notify|monitor|assess)\b", plain, re.I):
        return None, ""
    phrases = labels_in(short) if _CORE.search(short) else []
    return (phrases[0][0], "") if len(phrases) == 1 else (None, "")


def _read(text: str) -> tuple[Label | None, str]:
    words = re.sub(r"\b(?:acutely|chronically)\b", "", text, flags=re.I)
    words = re.sub(r"\b(?:acute on chronic|acid[- ]base)\b", "acid base", words, flags=re.I)
    words = re.sub(r"^(?:\W*(?:and|with|no|not|on|plus)\b)+(?=.*\b(?:compensat|acid|alk))",
                   lambda m: m[0] if re.search(r"\bno[t]?\b", m[0], re.I) else "", words.strip(),
                   flags=re.I)
    words = re.sub(r"(?:[\s,;]+(?:and|with|on|plus|a|an))+\s*$", "", words, flags=re.I)
    try:
        return read_label(words), ""
    except QuantityError as error:
        said = str(error)
        lawless = "joins 'normal'" in said or "says both" in said or "cannot be:" in said
        return None, said if lawless else ""


def _rest(plain: str) -> str:
    """What a sentence says beside its label: two options may share the label and differ in it."""
    if _read(_GAP.sub(" ", _TAIL.sub("", _OPENING.sub("", plain))))[0] is not None:
        return ""  # nothing but a label
    if _HOW_FAR.search(plain) and _CAUSE.search(plain):
        return ""
    left = _PHRASE.sub(lambda match: " " if _CORE.search(match[0]) else match[0], plain.lower())
    return " ".join(re.findall(r"\w+", left))


def _acuity(plain: str) -> str | None:
    if re.search(r"\bacute[\s-]on[\s-]chronic\b", plain, re.I):
        return "acute on chronic"
    words = set(re.findall(r"\b(acute|chronic)(?:ly)?\b", plain.lower()))
    return words.pop() if len(words) == 1 else None


def _gap(plain: str) -> str | None:
    match = _GAP.search(plain)
    if match is None:
        return None
    word = (match["how"] or match["short"]).lower()
    if word in ("normal", "non", "nagma", "hyperchloremic"):
        return "normal"
    return "low" if word == "low" else "high"


def _state(plain: str) -> str | None:
    words = re.sub(r"^(?:it is|it's|the \w+ is|ph|paco2|hco3|bicarbonate)\s+(?:is\s+)?", "",
                   plain.lower())
    word = spell_out(words.split(",")[0].split(":")[0].split("(")[0])
    if word in ("low", "normal", "high"):
        return word
    return {"acidemia": "low", "alkalemia": "high", "acidic": "low", "acid": "low",
            "alkaline": "high", "acidemic": "low", "alkalemic": "high"}.get(word)


def _number(plain: str) -> tuple[float, float] | None:
    """The number an option is about, or its range; None where it is a sentence with a number."""
    match = re.match(r"^(?:about|around|approximately|~|=|is|it is)?\s*(-?\d+(?:[.,]\d+)?)"
                     r"(?:\s*(?:-|to|and|±|\+/-)\s*(\d+(?:[.,]\d+)?))?\s*"
                     r"(?:mm\s?hg|kpa|m?eq/l|mmol/l|%|m?eq|mmol)?\s*(?:\(.*\))?$", plain, re.I)
    if match is None:
        return None
    low = float(match[1].replace(",", "."))
    if match[2] is None:
        return low, low
    second = float(match[2].replace(",", "."))
    if re.search(r"±|\+/-", plain):
        return low - second, low + second
    return min(low, second), max(low, second)


def asks(question: WrittenQuestion) -> str:
    """The sentence that asks: the last one with a question mark, or the last one."""
    text = " ".join(question.text.split())
    sentences = re.split(r"(?<=[.?!:])\s+(?=[A-Z\"'(*])", text)
    asking = [one for one in sentences if "?" in one]
    return asking[-1] if asking else sentences[-1]


def kind_of(question: WrittenQuestion, meanings: tuple[Meaning, ...]) -> AskedKind:
    """What kind of question it is, by its options first and its stem second."""
    from .actions import act_of

    def most(test: list[bool]) -> bool:
        return sum(test) * 2 > len(test) or (sum(test) >= 2 and len(test) <= 4)

    if most([one.sample is not None for one in meanings]):
        return "which gas"
    if most([one.label is not None or bool(one.misread) for one in meanings]):
        return "label"
    if all(one.number is not None for one in meanings) and meanings:
        return "number"
    subjects = {claim.subject for one in meanings for claim in one.claims}
    if most([one.state is not None for one in meanings]) and len(subjects) < 2:
        return "state"
    if most([bool(one.claims) for one in meanings]):
        return "statement"
    if most([bool(one.named) for one in meanings]):
        return "which value"
    first = re.search(r"\b(?:first|priority|next|immediate(?:ly)?|initial(?:ly)?|most important"
                      r"|right away|at once|before anything|best action|do now|now do|most urgent"
                      r"|should the nurse (?:do|take)|action|intervention)\b", asks(question), re.I)
    acts = [act_of(option.text) is not None for option in question.options]
    return "what first" if first and most(acts) else "other"
