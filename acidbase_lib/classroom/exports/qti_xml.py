"""QTI's two dialects: one tree in the names of 2.1, written as 2.1 or as 3.0.

Sources: 1EdTech, "QTI v2.1 Assessment Test, Section, and Item Information Model" (2012) and
"QTI v3.0 Assessment, Section and Item Information Model" (2022). From 2.1 to 3.0 every name of
QTI's own got the prefix ``qti-`` and hyphens; what is XHTML kept its names.
"""
from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from types import MappingProxyType
from typing import Literal

Version = Literal["3.0", "2.1"]
VERSIONS: tuple[Version, ...] = ("3.0", "2.1")

NAMESPACE = MappingProxyType({"3.0": "http://www.imsglobal.org/xsd/imsqtiasi_v3p0",
                              "2.1": "http://www.imsglobal.org/xsd/imsqti_v2p1"})
SCHEMA = MappingProxyType({
    "3.0": "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqti_asiv3p0_v1p0.xsd",
    "2.1": "http://www.imsglobal.org/xsd/qti/qtiv2p1/imsqti_v2p1.xsd"})
LANG = "{http://www.w3.org/XML/1998/namespace}lang"
XSI = "http://www.w3.org/2001/XMLSchema-instance"

_XHTML = frozenset({"p", "div", "ul", "ol", "li", "table", "caption", "thead", "tbody", "tr", "th",
                    "td", "strong", "em", "code", "br", "hr", "blockquote", "span", "sub", "sup",
                    "h2"})
_RUNNING = frozenset({"p", "h2", "caption", "li", "th", "td", "prompt", "simpleChoice", "value",
                      "baseValue"})
# in 3.0 what is told to a person stands in a body of its own
_TELLING = frozenset({"rubricBlock", "modalFeedback"})
_ONLY_3 = frozenset({"class", "externalScored", "use"})  # attributes that 2.1 does not have or need
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def make(tag: str, *inside: ET.Element | str | None, **attributes: str | float) -> ET.Element:
    """Return an element with text and elements inside, in the names of 2.1.

    Examples
    --------
    >>> ET.tostring(make("p", "pH ", make("strong", "7.28")), encoding="unicode")
    '<p>pH <strong>7.28</strong></p>'
    """
    element = ET.Element(tag, {_named(name): _worth(value) for name, value in attributes.items()})
    fill(element, inside)
    return element


def fill(element: ET.Element, inside: Iterable[ET.Element | str | None]) -> None:
    """Add text and elements to an element, in order; None is left out."""
    for piece in inside:
        if piece is None:
            continue
        if isinstance(piece, ET.Element):
            element.append(piece)
        elif len(element):
            element[-1].tail = (element[-1].tail or "") + piece
        else:
            element.text = (element.text or "") + piece


def number(value: float) -> str:
    """A number as XML Schema and people read it.

    Examples
    --------
    >>> number(3.0), number(0.5), number(43.999999999)
    ('3', '0.5', '43.999999999')
    """
    return f"{value:.15g}"


def written(root: ET.Element, version: Version) -> bytes:
    """Return a document of QTI's own as a file in one dialect."""
    tree = _dialect(root, version)
    tree.set("xmlns", NAMESPACE[version])
    tree.set("xmlns:xsi", XSI)
    tree.set("xsi:schemaLocation", f"{NAMESPACE[version]} {SCHEMA[version]}")
    return serialized(tree)


def serialized(root: ET.Element) -> bytes:
    """Return a tree as a file, a line for each element that holds no running text."""
    _spread(root, "\n")
    text = ET.tostring(root, encoding="unicode", short_empty_elements=True)
    return ('<?xml version="1.0" encoding="UTF-8"?>\n' + text + "\n").encode()


def _dialect(element: ET.Element, version: Version) -> ET.Element:
    """Return a copy of a tree in the names of a version."""
    inside = list(element)
    if version == "3.0" and element.tag in _TELLING:
        inside = [make("contentBody", element.text, *inside)]
    text = None if version == "3.0" and element.tag in _TELLING else element.text
    attributes = {_attribute(name, version): _lawful(value) or ""
                  for name, value in element.attrib.items()
                  if version == "3.0" or name not in _ONLY_3}
    copy = ET.Element(_element(element.tag, version), attributes)
    copy.text, copy.tail = _lawful(text), _lawful(element.tail)
    copy.extend(_dialect(child, version) for child in inside)
    return copy


def _element(tag: str, version: Version) -> str:
    return tag if version == "2.1" or tag in _XHTML else f"qti-{_hyphened(tag)}"


def _attribute(name: str, version: Version) -> str:
    return name if version == "2.1" or name.startswith("{") else _hyphened(name)


def _hyphened(name: str) -> str:
    return re.sub(r"(?<=[a-z0-9])([A-Z])", lambda found: f"-{found[1].lower()}", name)


def _named(name: str) -> str:
    return LANG if name == "lang" else name.rstrip("_")


def _worth(value: str | float) -> str:
    return value if isinstance(value, str) else number(value)


def _lawful(text: str | None) -> str | None:
    """Text without the characters that no XML file may hold."""
    return None if text is None else _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def _spread(element: ET.Element, margin: str) -> None:
    plain = element.tag.removeprefix("qti-")
    running = plain in _RUNNING or plain in {"simple-choice", "base-value"}
    text = (element.text or "").strip() or any((child.tail or "").strip() for child in element)
    if running or text or not len(element):
        return
    element.text = margin + "  "
    for child in element:
        _spread(child, margin + "  ")
        child.tail = margin + "  "
    element[-1].tail = margin
