"""A unit as a QTI content package: items, a test, a manifest and a page for people, zipped."""
from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.unit import Unit

from .qti_items import item
from .qti_scoring import waits, why_not
from .qti_xml import XSI, Version, make, serialized, written

INVENTED = "Every person and the hospital in these questions are invented."
READ_ME = "READ_ME.txt"
_DATE = (2020, 1, 1, 0, 0, 0)  # the same unit, form and version give the same bytes

_MANIFEST = MappingProxyType({
    "3.0": ("http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
            "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqtiv3p0_imscpv1p2_v1p0.xsd",
            "QTI Package", "3.0.0", "v3p0"),
    "2.1": ("http://www.imsglobal.org/xsd/imscp_v1p1",
            "http://www.imsglobal.org/xsd/qti/qtiv2p1/qtiv2p1_imscpv1p2_v1p0.xsd",
            "QTIv2.1 Package", "1.0.0", "v2p1")})


class QuizError(ValueError):
    """A unit cannot be written as a package; the text says why."""


@dataclass(frozen=True, slots=True)
class Quiz:
    """A package and what its reader must know of it.

    Attributes
    ----------
    files : mapping of str to bytes
        By name in the package.
    held : tuple of str
        The questions that are in it.
    by_hand : tuple of str
        Those of them that a person scores.
    left_out : mapping of str to str
        The questions that are not in it, and why.
    points : float
        The most that can be earned.
    """

    files: Mapping[str, bytes]
    held: tuple[str, ...]
    by_hand: tuple[str, ...]
    left_out: Mapping[str, str]
    points: float

    def zipped(self) -> bytes:
        """Return the package as a file."""
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w") as archive:
            for name, data in self.files.items():
                entry = zipfile.ZipInfo(name, _DATE)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.external_attr = 0o644 << 16
                entry.create_system = 3
                archive.writestr(entry, data)
        return buffer.getvalue()


def quiz(unit: Unit, version: Version = "3.0",
         models: Mapping[str, str] = MappingProxyType({})) -> Quiz:
    """Write a unit as a package.

    Parameters
    ----------
    unit : Unit
        The open unit, which knows the authored keys that are at hand.
    version : str
        "3.0" or "2.1".
    models : mapping of str to str
        The author's model answers to the written questions.

    Raises
    ------
    QuizError
        QTI can express none of the unit's questions.
    """
    left_out = {exercise.id: reason for exercise in unit if (reason := why_not(exercise))}
    held = [exercise for exercise in unit if exercise.id not in left_out]
    if not held:
        raise QuizError(f"{unit.id} has no question that QTI can express: {left_out}")
    name = _identifier(unit)
    names = {exercise.id: f"{name}_{exercise.id}" for exercise in held}
    points = sum(exercise.points for exercise in held)
    files = {"imsmanifest.xml": serialized(_manifest(name, tuple(names.values()), version)),
             "test.xml": written(_test(unit, name, names, points), version)}
    files |= {_file(names[exercise.id]): written(
        item(exercise, names[exercise.id], models.get(exercise.id, "")), version)
        for exercise in held}
    by_hand = tuple(exercise.id for exercise in held if waits(exercise))
    files[READ_ME] = _read_me(unit, version, held, by_hand, left_out).encode()
    return Quiz(MappingProxyType(files), tuple(names), by_hand, MappingProxyType(left_out),
                float(points))


def _identifier(unit: Unit) -> str:
    return f"unit_{re.sub(r'[^A-Za-z0-9_-]', '_', unit.id)}_form_{unit.form}"


def _file(name: str) -> str:
    return f"items/{name}.xml"


def _test(unit: Unit, name: str, names: Mapping[str, str], points: float) -> ET.Element:
    """Return the test: one section, told first that it is for teaching, not for care."""
    section = make(
        "assessmentSection",
        make("rubricBlock", make("p", f"{INVENTED} {CAUTION}"), view="candidate",
             use="instructions"),
        *(make("assessmentItemRef", identifier=identifier, href=_file(identifier))
          for identifier in names.values()),
        identifier=f"{name}_section", title=unit.title, visible="true")
    total = make("setOutcomeValue",
                 make("sum", make("testVariables", variableIdentifier="SCORE")),
                 identifier="SCORE")
    return make(
        "assessmentTest",
        make("outcomeDeclaration", make("defaultValue", make("value", "0")), identifier="SCORE",
             cardinality="single", baseType="float", normalMaximum=points, normalMinimum=0),
        make("outcomeDeclaration", make("defaultValue", make("value", f"{points:g}")),
             identifier="MAXSCORE", cardinality="single", baseType="float"),
        make("testPart", make("itemSessionControl", maxAttempts=1, showFeedback="true"), section,
             identifier=f"{name}_part", navigationMode="nonlinear", submissionMode="individual"),
        make("outcomeProcessing", total),
        identifier=name, title=f"{unit.title}, form {unit.form}")


def _manifest(name: str, items: tuple[str, ...], version: Version) -> ET.Element:
    """Return the manifest, which lists every file of the package."""
    namespace, schema, kind, edition, suffix = _MANIFEST[version]

    def resource(identifier: str, kind: str, file: str, *needs: str) -> ET.Element:
        return make("resource", make("file", href=file),
                    *(make("dependency", identifierref=need) for need in needs),
                    identifier=identifier, type=kind, href=file)

    root = make("manifest", make("metadata", make("schema", kind), make("schemaversion", edition)),
                make("organizations"),
                make("resources",
                     resource(f"{name}_test", f"imsqti_test_xml{suffix}", "test.xml", *items),
                     *(resource(one, f"imsqti_item_xml{suffix}", _file(one)) for one in items),
                     resource(f"{name}_read_me", "webcontent", READ_ME)),
                identifier=f"{name}_manifest")
    root.set("xmlns", namespace)
    root.set("xmlns:xsi", XSI)
    root.set("xsi:schemaLocation", f"{namespace} {schema}")
    return root


def _read_me(unit: Unit, version: Version, held: list[Exercise], by_hand: tuple[str, ...],
             left_out: Mapping[str, str]) -> str:
    return "\n".join(_lines(unit, version, held, by_hand, left_out)) + "\n"


def _lines(unit: Unit, version: Version, held: list[Exercise], by_hand: tuple[str, ...],
          left_out: Mapping[str, str]) -> Iterator[str]:
    yield f"{unit.title}, form {unit.form}: {len(held)} questions, QTI {version}"
    yield from ("", f"{INVENTED} {CAUTION}", "")
    yield "This package holds the keys. Give it to your learning platform, not to learners."
    yield from ("", "Not in the package:")
    yield from (f"  Question {number_of(one)}: {reason}." for one, reason in left_out.items())
    if not left_out:
        yield "  nothing; every question of the unit is in it."
    yield from ("", "Scored by a person:")
    yield from (f"  Question {number_of(one)}" for one in by_hand)
    if not by_hand:
        yield "  nothing; every question scores itself."
    yield from ("", "What is otherwise than in the notebook:")
    yield "  A number is typed without its unit and in the unit that stands beside it."
    yield "  Some platforms take the order in which steps are first shown for an answer."
    yield "  A shown feedback holds the right answer: switch feedback off while a test is open."
