"""From a stem's words to a bedside scene, as far as the words allow."""
from __future__ import annotations

import re
from typing import Any, Final

from acidbase_lib.reading.priority.scene import Scene

from .numbers import tidy
from .sample import StemNumbers

_NOT_SO: Final = re.compile(r"(?:\b(?:no|not|without|denies|never|isn't|free of|rules? out|"
                            r"neither)\s+"
                            r"(?:(?!(?:and|but|is|are|has|he|she|who|yet|now)\b)\w+\s+){0,3})$",
                            re.I)
#: (field, its word, what says so); the first that fits a field wins.
_WORDS: Final = (
    ("airway", "blocked", r"airway is blocked|choking|cannot speak or cough|complete obstruction"),
    ("airway", "at risk", r"gurgl\w+|snoring|stridor|vomit in (?:the|his|her) mouth"),
    ("airway", "open", r"airway is (?:open|clear|patent)|(?:speaks?|speaking|talks?|"
                       r"talking) in (?:full|"
                       r"whole|short|complete) (?:sentences|phrases)|patent airway|"
                       r"airway (?:open|clear)"
                       r"|gives? (?:his|her) name|answers? (?:your |all |every )?questions?"),
    ("effort", "none", r"not breathing|apneic|no breathing|stopped breathing"),
    ("effort", "tiring", r"tiring|exhausted|tired from breathing|too tired|wearing out"),
    ("effort", "shallow", r"shallow"),
    ("effort", "deep", r"kussmaul|deep(?:,| and)? (?:\w+ )?(?:rapid|fast|regular)?\s?(?:breath|"
                       r"respir)"
                       r"|(?:breath\w+|respirations) (?:is |are )?(?:\w+ and )?deep"),
    ("effort", "labored", r"labou?red|accessory muscles?|short of breath|breathless|dyspne\w+"
                          r"|struggling|retractions|gasping|works? hard to breathe|"
                          r"work of breathing|short of (?:air|wind)|out of breath|puffing|panting"
                          r"|(?:can ?not|can't|could not|couldn't|unable to|trouble|difficulty"
                          r"|hard(?:er)? to) (?:\w+ )?(?:breath\w*|(?:get|getting|catch|catching)"
                          r"(?: \w+)? (?:breath|air))"),
    ("effort", "easy", r"unlabou?red|easy breathing|breath\w+ (?:is |are )?eas(?:y|ily)|"
                       r"comfortabl\w+"),
    ("consciousness", "unresponsive", r"unresponsive|does not respond|cannot be (?:roused|woken)|"
                                      r"comatose"),
    ("consciousness", "pain", r"(?:only )?to pain(?:ful)?|only to (?:a )?(?:sternal|pinch)"),
    ("consciousness", "voice", r"to (?:a |your |his |her )?(?:voice|name|verbal)|drows\w+|"
                               r"letharg\w+"
                               r"|sleepy|somnolent|hard to wake"),
    ("consciousness", "new confusion", r"confus\w+|disorient\w+|agitated"),
    ("consciousness", "alert", r"\balert\b|awake|oriented|talking|speaks? in|speaking in"
                               r"|answers? (?:your |all |every )?questions?|gives? (?:his|"
                               r"her) name"),
    ("circulation", "no pulse", r"no pulse|pulseless|cardiac arrest"),
    ("circulation", "shock", r"in shock|septic shock|hemorrhagic shock|cold and clammy|mottled"),
    ("device", "reservoir mask", r"non-?rebreather|reservoir mask"),
    ("device", "venturi mask", r"venturi"),
    ("device", "high-flow nasal oxygen", r"high[- ]flow nasal"),
    ("device", "mask ventilation", r"\bbipap\b|\bcpap\b|on (?:noninvasive|mask) ventilation"),
    ("device", "nasal cannula", r"nasal cannula|nasal prongs|cannula"),
    ("device", "simple mask", r"(?:simple|face) ?mask"),
    ("device", "air", r"room air|\bon air\b|breath\w+ air\b|without oxygen|no added oxygen"),
    ("posture", "flat", r"lying flat|lies flat|supine|flat (?:in|on)"),
    ("posture", "upright", r"sitting (?:up|upright)|upright|fowler|sits up|tripod|propped"),
)
_HISTORY: Final = (
    ("chronic CO2 retainer", r"retains? (?:co2|carbon dioxide)|(?:co2|carbon dioxide) retain\w+"
                             r"|chronic hypercapni\w+|known hypercapni\w+|(?:co2|"
                             r"carbon dioxide) retention"
                             r"|chronically high paco2"),
    ("at risk of hypercapnic failure", r"\bcopd\b|emphysema|chronic (?:obstructive|lung|"
                                       r"bronchitis)|"
                                       r"obesity hypoventilation|neuromuscular|cystic fibrosis|"
                                       r"kyphoscoliosis|muscular dystrophy"),
    ("previous ventilatory support", r"(?:needed|had|on) (?:mask ventilation|bipap|"
                                     r"noninvasive \w+) "
                                     r"(?:last|before|in the past|on an earlier)"),
    ("asthma", r"asthma\w*"),
    ("opioid given", r"morphine|hydromorphone|fentanyl|opioids?|oxycodone"),
    ("critical illness", r"critically ill|septic shock|major trauma|anaphyla\w+|cardiac arrest"),
    ("carbon monoxide", r"carbon monoxide|house fire"),
    ("spine not cleared", r"cervical collar|spine (?:is )?not cleared"),
)
#: Words that throw doubt on the probe.
_PROBE: Final = (r"\bprobe\b|waveform|\btrace\b|pleth|nail polish|cold (?:hands|fingers)|shivering"
                 r"|\balarm")
_TRIED: Final = (
    ("oxygen titrated", r"(?:you|the nurse|nurse) (?:has |have |already )*(?:started|applied|"
                        r"placed|put)"
                        r" (?:\w+ )*(?:venturi|oxygen toward)"),
    ("drug", r"(?:has|have|had|was|were) (?:just |already |now )*(?:been )?given|(?:you|the nurse"
             r"|nurse) (?:has |have |already |just )*(?:gave|given|administered)|(?:minutes?|hour)"
             r" after (?:the|his|her) (?:\w+ )?(?:nebuli|inhaler|dose|injection)"),
    ("position", r"(?:you|the nurse|nurse) (?:has |have |already )*(?:raised the head|sat (?:him|"
                 r"her)|"
                 r"positioned|helped (?:him|her) (?:to )?sit)"),
    ("call for help", r"(?:rapid response|provider|team) (?:has been|was|is) (?:called|notified|"
                      r"coming)"),
)
_GIVEN: Final = (
    ("breath sounds", r"wheez\w+|crackles|breath sounds|lungs are clear|rhonchi|air entry|"
                      r"silent chest"),
    ("pain", r"\bpain\b"),
    ("laboratory", r"potassium|sodium|ketones|lactate|creatinine|chest x-?ray"),
)


def scene_of(text: str, numbers: StemNumbers) -> tuple[Scene | None, str]:
    """The scene of a stem; or None and what stands in the way, in one sentence.

    Words after "no", "not", "denies" or "without" are left out; nothing is assumed.
    """
    plain = re.sub(r"\s+", " ", tidy(text)).lower()
    values: dict[str, Any] = {}
    for field, word, pattern in _WORDS:
        if field not in values and _says(plain, pattern):
            values[field] = word
    if values.get("device") == "air" and re.search(r"\bl/min|liters?\b", plain):
        del values["device"]
    if re.search(_PROBE, plain):
        values["spo2_reliable"] = False
    values["history"] = tuple(word for word, pattern in _HISTORY if _says(plain, pattern))
    values["tried"] = tuple(word for word, pattern in _TRIED if _says(plain, pattern))
    values["also_given"] = tuple(word for word, pattern in _GIVEN if _says(plain, pattern))
    target = re.search(r"(?:target|goal|aim)\w*\b[^.]{0,40}?(\d{2})\s*%?\s*(?:-|"
                       r"to)\s*(\d{2,3})\s*%",
                       plain)
    if target:
        values["prescribed_target"] = (float(target[1]), float(target[2]))
    for field, key in (("respiratory_rate", "respiratory_rate"), ("pulse", "pulse"),
                       ("spo2", "spo2"), ("systolic", "systolic"), ("temperature", "temperature")):
        if key in numbers.others:
            values[field] = numbers.others[key].canonical
    sample = numbers.last
    if sample is not None:
        values["gas"] = sample.gas
    if values["tried"] and not {"respiratory_rate", "spo2"} & set(values):
        values["reassessed"] = False  # nothing was counted since
    for found in [one.found for one in numbers.samples] + [numbers.others]:
        for field in ("glucose", "age", "fio2"):
            if field in found:
                values[field] = found[field].canonical
    if sample is not None and sample.gas is not None and sample.gas.sao2 and "spo2" not in values:
        values["spo2"] = sample.gas.sao2
    if values.get("device") == "air" and values.get("fio2", 0.21) > 0.21:
        del values["device"]
    try:
        return Scene(**values), ""
    except ValueError as error:
        return None, str(error)


def _says(plain: str, pattern: str) -> bool:
    return any(not _NOT_SO.search(plain[max(0, match.start() - 40):match.start()])
               for match in re.finditer(rf"(?<![a-z])(?:{pattern})", plain))
