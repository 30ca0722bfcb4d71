"""What an option does at the bedside: its kind, what it looks at, acts on and aims for."""
from __future__ import annotations

import re
from typing import Final

from acidbase_lib.reading.priority.scene import Option, SceneError

from .numbers import tidy

_LOOKS: Final = (
    ("breath sounds", r"breath sounds?|auscult|lung sounds?|listen to (?:the|his|her) (?:chest|"
                      r"lungs)"),
    ("airway", r"\bairway\b|gag reflex"),
    ("breathing", r"respiratory (?:rate|effort|status|pattern)|breathing|respirations|"
                  r"work of breath|"
                  r"accessory|vital signs|\brr\b|chest (?:rise|movement)"),
    ("saturation", r"saturation|spo2|pulse ox|\bsats?\b|oximet"),
    ("circulation", r"blood pressure|\bbp\b|\bpulse\b(?! ox)|heart r|perfusion|capillary refill|"
                    r"circulation|urine output|\becg\b|\bekg\b|cardiac rhythm|vital signs|skin"),
    ("consciousness", r"conscious|orient|alert|mental status|neurolog|responsive|pupils|loc\b"),
    ("glucose", r"glucose|blood sugar|fingerstick"),
    ("temperature", r"temperature|\bfever\b"),
    ("pain", r"\bpain\b"),
    ("gas", r"blood gas|\babg\b|arterial (?:gas|sample|blood)|\bgas(?:es)?\b"),
    ("laboratory", r"electrolyt|potassium|lactate|laborator|\blabs?\b|culture|sputum|ketone|x-?ray"
                   r"|creatinine|blood count|sodium|urine sample"),
    ("equipment", r"equipment|tubing|probe|connections?|cannula|flow ?meter|the mask|ventilator|"
                  r"suction canister"),
    ("history", r"history|smok|how long|when (?:he|she|it|the)|allerg|medications?|chart|weight|"
                r"family"),
)
_ASSESS: Final = re.compile(
    r"^(?:\w+ly )?(?:re-?)?(?:assess|check|count|listen|auscultat|measure|obtain|look|observe|ask|"
    r"review|take|draw|collect|evaluate|inspect|monitor|repeat|palpate|determine|watch|examine|"
    r"feel|"
    r"find out|recheck|reassess|get|perform an? (?:\w+ )?assess|send|order an? (?:abg|"
    r"arterial))", re.I)
_OXYGEN: Final = re.compile(r"oxygen|\bo2\b|venturi|cannula|non-?rebreather|reservoir|face ?mask"
                            r"|simple mask|\bmask\b", re.I)
#: An order to give: at the head of an option, or after "and", "then" or a comma.
_GIVES: Final = re.compile(r"(?:^|\b(?:and|then|to)\s|[,;]\s)(?:\w+ly\s)?(?:give|giving|administer"
                           r"(?:ing)?|start(?:ing)?|infus(?:e|ing)|begin(?:ning)?|hang|inject(?:ing)?"
                           r"|push)\b", re.I)
#: Oxygen kept from a patient: refused, taken away, put off, or room air chosen instead.
_WITHHELD: Final = re.compile(
    r"withh|\b(?:hold|keep)\w* (?:the |all |any )?(?:oxygen|o2|back)|(?:remove|discontinue|avoid"
    r"|refuse|forgo)\w*\b|\bstop (?:the |all |his |her )?(?:oxygen|o2)"
    r"|\b(?:turn|take|leave|keep|switch|pull)\w*\b[^.,;]*\b(?:oxygen|o2|mask|cannula)\b[^.,;]*"
    r"\b(?:off|away)\b|\b(?:turn|take|leave|keep|switch|pull)\w* (?:\w+ )?off (?:the |all |any |his"
    r" |her )?(?:oxygen|o2|mask)|(?:do not|don't|never|not) (?:to )?(?:give|giving|apply|start|use"
    r"|put)|\bno (?:extra |added |more |supplementa?l? )?(?:oxygen|o2)\b|without (?:any |added )?"
    r"(?:oxygen|o2)|\b(?:leave|keep)\w* \w+(?: \w+)? (?:on|breathing) (?:room )?air|\b(?:wait|delay"
    r"|postpone)\w*\b[^.,;]*\b(?:oxygen|o2)\b")
_DRUGS: Final = (
    ("breathing", r"albuterol|salbutamol|bronchodilator|nebuli|ipratropium|naloxone|steroid|"
                  r"prednis|aminophylline|inhaler|antidote"),
    ("circulation", r"fluid|saline|crystalloid|bolus|vasopressor|norepinephrine|blood products|"
                    r"ringer"
                    r"|lactated"),
    ("consciousness", r"dextrose|glucose|glucagon"),
    ("comfort", r"morphine|analges|opioid|lorazepam|anxiolytic|sedativ|midazolam|diazepam|sleeping"
                r"|hydromorphone|acetaminophen|pain (?:relief|medic)"),
    ("cause", r"insulin|antibiotic|antiemetic|ondansetron|bicarbonate|potassium|furosemide|"
              r"diuretic|"
              r"acetazolamide|antacid|medication|drug|tablet|dose|prescribed|ordered"),
)
_DOSE: Final = re.compile(r"\d+(?:\.\d+)?\s?(?:mg|mcg|g|units?|m?eq|mmol|ml|ampules?|"
                          r"amps?)\b(?!\s?/\s?[dl])",
                          re.I)
_PRESCRIBED: Final = re.compile(r"prescri|order(?:ed|s)?\b|protocol|as charted|"
                                r"per (?:the )?(?:provider|"
                                r"physician|plan)", re.I)


def act_of(text: str) -> Option | None:
    """An option of a "what first" question in the words of the rules; None if not understood."""
    plain = re.sub(r"\s+", " ", tidy(text)).strip(" .")
    found = _kind(plain.lower())
    if found is None or not plain:
        return None
    kind, more = found
    if kind == "drug" and re.search(r"without (?:an? )?(?:order|prescription)", plain, re.I):
        more["prescribed"] = False
    try:
        return Option(" ".join(text.split()), kind, **more)  # type: ignore[arg-type]
    except (SceneError, ValueError):
        return None


def is_unprescribed_drug(text: str) -> bool:
    """Whether an option gives a drug and no word says that anybody prescribed it."""
    plain = tidy(text)
    option = act_of(text)
    return option is not None and option.kind == "drug" and not _PRESCRIBED.search(plain)


def has_dose(text: str) -> bool:
    """Whether a dose is printed."""
    return bool(_DOSE.search(tidy(text)))


def _kind(plain: str) -> tuple[str, dict[str, object]] | None:
    if re.match(r"(?:document|record|write down|write the|note the|chart\b|report the finding in)",
                plain):
        return "document", {}
    if re.match(r"(?:teach|educate|explain|instruct|encourage|coach|reassure|tell (?:him|her|"
                r"the (?:"
                r"patient|client)))", plain):
        return "teach", {}
    if re.search(r"compressions|\bcpr\b|defibrillat", plain):
        return "life support", {"acts_on": "circulation"}
    if re.match(r"(?:suction|open (?:the|his|her) airway|clear (?:the|his|her) airway|jaw|"
                r"head tilt|"
                r"perform (?:a )?(?:jaw|head|abdominal)|abdominal thrust|insert an? (?:oral|naso|"
                r"oropharyn))", plain):
        return "life support", {"acts_on": "airway"}
    if re.search(r"\b(?:room|on|breathing) air\b", plain) and not _OXYGEN.search(plain):
        return ("oxygen withheld", {}) if _WITHHELD.search(plain) else None
    if _OXYGEN.search(plain) and (oxygen := _oxygen(plain)):
        return oxygen
    if re.match(r"(?:notify|call|inform|page|contact|alert|tell|phone|activate|summon|"
                r"report (?:this|"
                r"the|it))", plain) and re.search(
                    r"provider|physician|doctor|team|rapid|therapist|charge|code|help|surgeon|"
                    r"registrar|prescriber|practitioner|hospitalist|review|anesthe|result|finding|"
                    r"gas|value|resident|intensivist", plain):
        return "call for help", {}
    if re.search(r"bag[- ](?:valve[- ])?mask|bipap|\bcpap\b|non-?invasive|ventilation|ventilate|"
                 r"intubat|rescue breath|support(?:ed)? (?:his |her |the )?breath", plain) \
            and not _ASSESS.match(plain):
        return "ventilatory support", {}
    if _ASSESS.match(plain):
        looks = tuple(name for name, pattern in _LOOKS if re.search(pattern, plain))
        if not looks and re.search(r"patient|client|him|her\b|physical|\babcs?\b", plain):
            looks = ("airway", "breathing", "circulation")
        return ("assess", {"looks_at": looks}) if looks else None
    if re.match(r"(?:raise|sit|elevate|position|reposition|place|turn|help|assist|put|lay|lower|"
                r"lie|"
                r"prop|move)\b", plain):
        return _position(plain)
    if _GIVES.search(plain) or re.match(r"(?:prepare|continue|increase|stop|hold|withhold)", plain):
        for acts_on, pattern in _DRUGS:
            if re.search(pattern, plain):
                return "drug", {"acts_on": acts_on}
    return None


def _position(plain: str) -> tuple[str, dict[str, object]] | None:
    if re.search(r"\bside\b|recovery|lateral", plain):
        return "position", {"acts_on": "airway"}
    if re.search(r"\blegs?\b|trendelenburg|\bflat\b|supine", plain):
        return "position", {"acts_on": "circulation"}
    if re.search(r"upright|fowler|head of|\bsit|\bup\b|tripod|orthopn|leaning|\bbed\b|chair|pillow",
                 plain):
        return "position", {"acts_on": "breathing"}
    return None


def _oxygen(plain: str) -> tuple[str, dict[str, object]] | None:
    if re.match(r"(?:check|assess|ask|document|teach|explain|measure|look|listen|notify|call)",
                plain):
        return None
    if re.search(r"bag[- ](?:valve[- ])?mask|ventilation|bipap|cpap", plain):
        return None
    if re.search(r"\b(?:saturation|spo2)\b", plain) and not re.search(
            r"mask|cannula|titrat|\bgive|\bapply|\bstart|deliver|venturi|turn|increase|lower|"
            r"step", plain):
        return None
    if _WITHHELD.search(plain):
        return "oxygen withheld", {}
    target = re.search(r"(\d{2})\s*(?:%|percent)?\s*(?:-|to|and)\s*(\d{2,3})\s*(?:%|percent)?",
                       plain)
    ends = (float(target[1]), float(target[2])) if target else None
    if ends and 80 <= ends[0] < ends[1] <= 100:
        return "oxygen titrated", {"target": ends}
    if re.search(r"venturi|titrat|controlled|low[- ]flow|\b[1-4](?:\.\d)?\s?l(?:iters?)?\b|"
                 r"(?:turn|step|lower|reduce|decrease|wean)\w*\b.*(?:down|oxygen|flow)|"
                 r"(?:lower|reduce|decrease|wean)|24\s?%|28\s?%|toward", plain):
        return "oxygen titrated", {}
    if re.search(r"non-?rebreather|reservoir|1[05]\s?l|100\s?%|high[- ](?:flow|concentration)|full|"
                 r"increase|turn (?:the |up)|\bmax|apply|give|administer|start|put|place|provide|"
                 r"raise",
                 plain):
        return "oxygen up", {}
    return None
