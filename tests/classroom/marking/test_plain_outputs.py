"""Outputs of learners' code: text and pictures stay, whatever else a kernel can send does not."""
from __future__ import annotations

import base64
from typing import Any

import pytest

from acidbase_lib.classroom.marking.plain_outputs import plain_output, plain_text

PNG = base64.b64encode(b"\x89PNG\r\n\x1a\n" + bytes(20)).decode()
JPEG = base64.b64encode(b"\xff\xd8\xff\xe0" + bytes(20)).decode()


def shown(**data: Any) -> dict[str, Any]:
    """What stays of a display of these kinds, each written as image_png."""
    kinds = {name.replace("__", "+").replace("_", "/", 1): text for name, text in data.items()}
    done = plain_output({"output_type": "display_data", "data": kinds, "metadata": {"x": 1}})
    assert (done["output_type"], done["metadata"]) == ("display_data", {})
    return dict(done["data"])


def test_plain_text_and_pictures_stay() -> None:
    assert shown(text_plain="a\n\tb") == {"text/plain": "a\n\tb"}
    assert shown(image_png=PNG, image_jpeg=JPEG) == {"image/png": PNG, "image/jpeg": JPEG}


@pytest.mark.parametrize("kind", [
    "text/html", "application/javascript", "image/svg+xml", "text/latex", "text/markdown",
    "application/vnd.jupyter.widget-view+json", "application/vnd.acidbase.mark+json",
    "application/pdf", "application/geo+json", "video/mp4", "image/gif", "TEXT/HTML", "text/x"])
def test_every_other_kind_goes_and_is_named(kind: str) -> None:
    payload = "<script>alert(1)</script>"
    output = {"output_type": "display_data", "data": {kind: payload}, "metadata": {}}
    done = plain_output(output)["data"]
    assert list(done) == ["text/plain"]
    assert kind in done["text/plain"]
    assert payload not in str(done)
    output["data"] = {kind: payload, "text/plain": "<Figure>", "image/png": PNG}
    assert plain_output(output)["data"] == {"text/plain": "<Figure>", "image/png": PNG}


@pytest.mark.parametrize("picture", [
    '"><script>alert(1)</script>', PNG + '" onerror="alert(1)', "", 7, None, [PNG], "AAAA",
    base64.b64encode(b"<svg onload='alert(1)'/>").decode(), JPEG])
def test_a_picture_that_is_none_goes(picture: Any) -> None:
    assert shown(image_png=picture) == {
        "text/plain": "[not shown: image/png; only text, PNG and JPEG are kept]"}


def test_a_picture_is_written_anew_on_one_line() -> None:
    assert shown(image_png=f"{PNG[:12]}\n{PNG[12:]}\n") == {"image/png": PNG}


def test_text_is_freed_of_all_that_a_terminal_obeys() -> None:
    """Colors, titles and links (ECMA-48), one-byte controls, turned text (Unicode's bidi)."""
    assert plain_text("\x1b[31mred\x1b[0m \x1b]0;title\x07\x1b]8;;http://x\x1b\\link\x1b]8;;\x1b\\"
                      ) == "red link"
    assert plain_text("a\r\nb\rc\x00\x08\x7f\x9b\u202e\u2066d") == "a\nb\ncd"
    assert plain_text(["one\n", "two"]) == "one\ntwo"
    assert plain_text("7.40 ≥ 7,35 · é 汉 🫁") == "7.40 ≥ 7,35 · é 汉 🫁"
    assert plain_text("\x1b]8;;never closed") == ""


def test_printed_text_and_errors_keep_their_form() -> None:
    assert plain_output({"output_type": "stream", "name": "x\" onload=\"", "text": "\x1b[1mA"}) == {
        "output_type": "stream", "name": "stdout", "text": "A"}
    assert plain_output({"output_type": "error", "ename": "E", "evalue": "v", "html": "<b>",
                         "traceback": ["\x1b[0;31mE\x1b[0m: v", 3]}) == {
        "output_type": "error", "ename": "E", "evalue": "v", "traceback": ["E: v", "3"]}
    assert plain_output({"output_type": "execute_result", "execution_count": 3, "metadata": {},
                         "data": {"text/plain": "26.0"}}) == {
        "output_type": "execute_result", "execution_count": 3, "metadata": {},
        "data": {"text/plain": "26.0"}}


@pytest.mark.parametrize("output", [
    {}, {"output_type": "script"}, {"output_type": "display_data", "data": "<b>"},
    {"output_type": "error"}, {"output_type": "stream"}, {"output_type": ["stream"]},
    {"output_type": "error", "traceback": "x"}, {"output_type": "display_data", "data": {1: 2}},
    {"output_type": "execute_result", "execution_count": "<b>", "data": {"text/plain": {}}}])
def test_an_output_of_any_make_becomes_a_plain_one(output: dict[str, Any]) -> None:
    done = plain_output(output)
    assert done["output_type"] in {"stream", "error", "display_data", "execute_result"}
    assert "<b>" not in str(done)
