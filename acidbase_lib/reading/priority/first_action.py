"""What comes first at the bedside: the first rule that applies picks one option, and says why."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from acidbase_lib.caution import CAUTION

from .rules import RULES, Rule, below_target, critical_illness, tiring, too_little_breathing
from .scene import LOOKS, Option, Scene, SceneError
from .sources import PRIORITY_SOURCES


@dataclass(frozen=True, slots=True)
class WhyNot:
    """An option that is not first, and why."""

    option: Option
    because: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FirstAction:
    """The answer: `best` and its reason, or None and what the stem would have to say.

    `rule` is the key of the rule that decided, `finding` what it saw in the scene, `reason` both
    in words, `sources` its source keys; `why_not` goes through the other options in their order.
    """

    best: Option | None
    rule: str
    finding: str
    reason: str
    sources: tuple[str, ...]
    why_not: tuple[WhyNot, ...]
    undecided: str | None = None
    caution: str = CAUTION

    @property
    def citations(self) -> tuple[str, ...]:
        """The sources of the rule, as a reader sees them."""
        rows = (PRIORITY_SOURCES[key] for key in self.sources)
        return tuple("Common practice." if row is PRIORITY_SOURCES["CommonPractice"] else
                     row.citation if row.seen == "in print" else f"{row.citation} ({row.seen})"
                     for row in rows)

    def __str__(self) -> str:
        head = f"First: {self.best.text}" if self.best else f"Undecided: {self.undecided}"
        lines = [head, self.reason]
        lines += [f"Not first: {row.option.text}. {row.because}" for row in self.why_not]
        return "\n".join([*lines, self.caution])


def first_action(scene: Scene, options: Iterable[Option]) -> FirstAction:
    """The option that comes first in a scene, by few, ordered rules.

    Parameters
    ----------
    scene : Scene
        What the stem gives.
    options : iterable of Option
        The choices on offer, at least two.

    Returns
    -------
    FirstAction
        The best first option with the rule and the reason, and why each other is not first.
        Where two options cannot be told apart, or none meets the threat, `best` is None and
        `undecided` says what the author must decide: a key is never invented.

    Raises
    ------
    SceneError
        If there are fewer than two options, or two read the same.

    Notes
    -----
    The rules are in `priority_rules.RULES`, each with its source: [BTS2017]_, [RCP2017]_,
    [Austin2010]_, [Aubier1980]_, [Robinson2000]_, or common practice.

    Examples
    --------
    >>> scene = Scene(consciousness="alert", respiratory_rate=26, spo2=80, device="air",
    ...               history=("chronic CO2 retainer",))
    >>> answer = first_action(scene, [
    ...     Option("Venturi mask toward 88-92 %", "oxygen titrated", target=(88, 92)),
    ...     Option("No oxygen, because of the CO2", "oxygen withheld")])
    >>> answer.best.text, answer.rule
    ('Venturi mask toward 88-92 %', 'dangerous, CO2 risk')
    """
    choices = _checked(options)
    barred = {option.text: bar for option in choices if (bar := _barred(scene, option))}
    usable = [option for option in choices if option.text not in barred]
    for rule in RULES:
        finding = rule.finding(scene)
        if not finding:
            continue
        want, met = _first_met(scene, rule, usable)
        if want == "oxygen up" and _misaimed(rule, choices):
            want, met = rule.first[0], []
        if met or rule.stops:
            break
    best = met[0] if len(met) == 1 else None
    undecided = None if best else _undecided(rule, want, met)
    others = [option for option in choices if option not in met or len(met) == 0]
    reason = f"{finding} {rule.sentence}"
    return FirstAction(
        best=best, rule=rule.key, finding=finding, reason=reason, sources=rule.sources,
        why_not=tuple(barred.get(option.text) or WhyNot(option, _later(scene, rule, best, option))
                      for option in others),
        undecided=undecided)


def _checked(options: Iterable[Option]) -> tuple[Option, ...]:
    choices = tuple(options)
    for option in choices:
        if not isinstance(option, Option):
            raise SceneError(f"an option is Option(text, kind, ...), not {option!r}")
    if len(choices) < 2:
        raise SceneError(f"a choice needs at least two options, not {len(choices)}")
    texts = [" ".join(option.text.lower().split()) for option in choices]
    for text in texts:
        if texts.count(text) > 1:
            raise SceneError(f"two options read the same: {text!r}")
    return choices


# --- which options meet a rule --------------------------------------------------------------------

def _first_met(scene: Scene, rule: Rule, usable: list[Option]) -> tuple[str, list[Option]]:
    """The best want that some option meets, and the options that meet it."""
    for want in rule.first:
        met = [option for option in usable
               if any(_meets(scene, option, one) for one in want.split(" + "))]
        if met:
            return want, _earliest(scene, met) if want == "assess" else met
    return " or ".join(rule.first).replace(" + ", " or "), []


def _misaimed(rule: Rule, choices: tuple[Option, ...]) -> bool:
    """Whether the titrated oxygen that the rule prefers is on offer with a wrong target only."""
    order = [want for want in rule.first if want in ("oxygen titrated", "oxygen up")]
    return order[:1] == ["oxygen titrated"] and any(
        option.kind == "oxygen titrated" for option in choices)


def _meets(scene: Scene, option: Option, want: str) -> bool:
    kind, _, on = want.partition(": ")
    if option.kind != kind:
        return False
    if kind == "assess":
        return not on or on in _new_looks(scene, option)
    return not on or option.acts_on == (scene.problem if on == "problem" else on)


def _new_looks(scene: Scene, option: Option) -> tuple[str, ...]:
    return tuple(look for look in option.looks_at if not scene.gives(look))


def _earliest(scene: Scene, assessments: list[Option]) -> list[Option]:
    """The assessments whose first unknown comes earliest in ABCDE order."""
    rank = {option.text: min(LOOKS.index(look) for look in _new_looks(scene, option))
            for option in assessments}
    return [option for option in assessments if rank[option.text] == min(rank.values())]


def _undecided(rule: Rule, want: str, met: list[Option]) -> str:
    if met:
        names = " / ".join(option.text for option in met)
        return (f"these options cannot be told apart by the rule '{rule.key}': {names}. The author "
                "must change one, or say in the stem what decides between them.")
    return (f"the rule '{rule.key}' applies, and no option meets it. The author must offer what "
            f"the rule asks for ({want}), or change the stem.")


# --- why an option cannot be first, whatever the rule ---------------------------------------------

def _barred(scene: Scene, option: Option) -> WhyNot | None:
    kind = option.kind
    if kind in scene.excluded:
        return WhyNot(option, "The patient's wishes or recorded plan rule this out.")
    if kind == "document":
        return WhyNot(option, "While you write, nobody acts and nobody looks: it comes once the "
                      "patient is safe.")
    if kind == "teach":
        return WhyNot(option, "Teaching waits until the patient can take it in.")
    if kind == "oxygen withheld":
        return _withheld(scene, option)
    if kind in ("oxygen up", "oxygen titrated"):
        return _oxygen_barred(scene, option)
    if kind == "assess" and not _new_looks(scene, option):
        return WhyNot(option, "The story already gives this finding: looking again only delays.")
    if kind == "call for help" and "call for help" in scene.tried:
        return WhyNot(option, "Help has been called already.")
    if kind == "drug" and not option.prescribed:
        return WhyNot(option, "Nobody has prescribed it: the prescriber is told first.")
    if missing := [look for look in option.needs if not scene.gives(look)]:
        return WhyNot(option, f"It is not safe before this is known: {', '.join(missing)}.")
    return None


def _withheld(scene: Scene, option: Option) -> WhyNot:
    if below_target(scene):
        return WhyNot(option, "Oxygen is titrated to its target, never withheld in hypoxemia. "
                      "Added oxygen raises CO2 in several ways: it changes blood flow in the lung "
                      "and what hemoglobin carries, and in part it weakens the signal to breathe.",
                      ("BTSOxygen2017", "Aubier1980", "Robinson2000"))
    if scene.on_oxygen:
        return WhyNot(option, "Oxygen taken away at once can leave SpO2 below what it was before "
                      "any oxygen: it is turned down in steps.", ("BTSOxygen2017",))
    return WhyNot(option, "Deciding against oxygen is no step that helps now.")


def _oxygen_barred(scene: Scene, option: Option) -> WhyNot | None:
    low, high = scene.target
    aim = option.target
    if aim and not (low <= aim[0] and aim[1] <= high):
        return WhyNot(option, f"The target here is {low:g}–{high:g} %, "
                      f"not {aim[0]:g}–{aim[1]:g} %.", ("BTSOxygen2017",))
    if below_target(scene) or critical_illness(scene) or too_little_breathing(scene):
        return None
    if not scene.gives("saturation"):
        return WhyNot(option, "Whether oxygen is low is not known yet: that look comes first.")
    if "carbon monoxide" in scene.history:
        return WhyNot(option, "After carbon monoxide the probe reads too high: oxygen is not "
                      "aimed by it.", ("BTSOxygen2017",))
    if option.kind == "oxygen titrated" and scene.on_oxygen and (scene.spo2 or 0) > high:
        return None
    return WhyNot(option, f"SpO2 {scene.spo2:g} % is not below the target of {low:g}–{high:g} %: "
                  "oxygen is for low oxygen, not for breathlessness.", ("BTSOxygen2017",))


# --- why an option comes later --------------------------------------------------------------------

def _later(scene: Scene, rule: Rule, best: Option | None, option: Option) -> str:
    kind = option.kind
    if best is not None and best.kind == "assess":
        if kind == "assess":
            return ("It comes later in the order airway, breathing, circulation, disability, "
                    "exposure.")
        return ("A short look tells what the call should say; if anything threatens, the call goes "
                "out at once." if kind == "call for help" else
                "A finding is still missing: this comes right after the look, if that asks for it.")
    if kind == "assess":
        return "It is worth knowing, and it comes after the finding in hand has been met."
    if kind == "oxygen up" and scene.co2_risk:
        return ("With a CO2 risk, full oxygen without a target did harm: more patients died than "
                "with titrated oxygen (Austin 2010).")
    if kind == "call for help":
        return ("It comes with the first step or right after it, by a second person where there "
                "is one.")
    if kind == "ventilatory support":
        return ("Support is made ready with the team that starts it." if tiring(scene)
                else "Nothing in the story says yet that breathing fails in spite of simpler "
                     "steps.")
    return f"It may be needed too. What comes first: {rule.sentence}"
