"""The light page's folder: small, whole, closed to other hosts, each file under its own name."""
from __future__ import annotations

import json
import re
import struct
import zlib
from base64 import b64encode
from hashlib import sha256
from pathlib import Path

import pytest
from kpa_school import SCHOOL, mmhg_first

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.classroom.site import light_page
from acidbase_lib.classroom.site.build_site import MARK, build_light_site
from acidbase_lib.classroom.site.front_page import FIRST_FORM, UnitLink, front_page
from acidbase_lib.classroom.site.icon import icon_png
from acidbase_lib.classroom.site.light_page import write_light_page
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.practice.ahead import OFFERED


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as few:
        few.setattr(light_page, "OF_EACH", 2)
        out = tmp_path_factory.mktemp("light") / "practice"
        write_light_page(out, course_folder(), behind=True)
    return out


@pytest.mark.slow
def test_the_page_lists_every_topic_with_its_file(folder: Path):
    page = (folder / "index.html").read_text(encoding="utf-8")
    settings = json.loads(re.search(r"const SETTINGS = (.*);\n", page)[1])
    assert [topic["name"] for topic in settings["topics"]] == list(OFFERED)
    for topic in settings["topics"]:
        data = (folder / topic["file"]).read_bytes()
        assert topic["file"].split(".")[1] == sha256(data).hexdigest()[:10]
        assert json.loads(data)["edition"] == settings["edition"]
    assert settings["caution"] == CAUTION
    assert f"<footer><p>{CAUTION}</p></footer>" in page
    assert f"loads about {FIRST_FORM} MB" in page


@pytest.mark.slow
def test_the_browser_is_told_to_run_this_script_alone_and_to_ask_no_other_host(folder: Path):
    page = (folder / "index.html").read_bytes()
    (script,) = re.findall(rb"<script[^>]*>(.*?)</script>", page, re.S)
    (rules,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', page.decode())
    own = b64encode(sha256(script).digest()).decode()
    assert "default-src 'none'" in rules
    assert f"script-src 'sha256-{own}'" in rules
    assert not re.findall(r"https?://", rules)
    assert b"http://" not in page
    assert b"https://" not in page.replace(b"https://doi.org", b"")


def test_what_is_kept_offline_is_every_file_with_its_digest(folder: Path):
    worker = (folder / "offline.js").read_text(encoding="utf-8")
    kept = json.loads(re.search(r"const FILES = (.*);\n", worker)[1])
    others = {path.name for path in folder.iterdir()} - {"offline.js"}
    assert kept == {name: sha256((folder / name).read_bytes()).hexdigest() for name in others}


def test_nothing_speaks_of_keys_that_a_phone_has_not(folder: Path):
    shown = re.sub(r"<script.*?</script>|<style.*?</style>", "",
                   (folder / "index.html").read_text(encoding="utf-8"), flags=re.S)
    assert not re.search(r"Ctrl|Shift|Esc\b", shown)


@pytest.mark.slow
def test_the_first_question_costs_at_most_200_kb(tmp_path: Path):
    """With as many cases as users get; the goal of 200 KB is for the page and its first topic."""
    cases = write_light_page(tmp_path / "practice", course_folder())
    assert cases >= 4_250
    sizes = {path.name: path.stat().st_size for path in (tmp_path / "practice").iterdir()}
    topics = [size for name, size in sizes.items() if re.search(r"\.\w{10}\.json$", name)]
    assert len(topics) == len(OFFERED)
    assert sizes["index.html"] + max(topics) + sizes["icon-192.png"] + sizes[
        "manifest.webmanifest"] <= 200_000
    assert sum(sizes.values()) <= 800_000


def test_the_manifest_gives_a_name_and_icons_that_are_there(folder: Path):
    told = json.loads((folder / "manifest.webmanifest").read_text(encoding="utf-8"))
    assert (told["name"], told["start_url"], told["display"]) == (
        "Acid–base practice", "./", "standalone")
    for icon in told["icons"]:
        data = (folder / icon["src"]).read_bytes()
        assert "x".join(map(str, struct.unpack(">2I", data[16:24]))) == icon["sizes"]


def test_the_icon_is_a_whole_png_of_two_halves():
    data = icon_png(64)
    place, lines = 8, b""
    while place < len(data):
        (length,) = struct.unpack(">I", data[place:place + 4])
        kind, body = data[place + 4:place + 8], data[place + 8:place + 8 + length]
        (check,) = struct.unpack(">I", data[place + 8 + length:place + 12 + length])
        assert check == zlib.crc32(kind + body)
        lines += body if kind == b"IDAT" else b""
        place += length + 12
    rows = zlib.decompress(lines)
    assert len(rows) == 64 * 65
    middle = rows[32 * 65 + 1:33 * 65]
    assert middle[:31].count(1) == middle[33:].count(2) > 20
    assert middle[0] == middle[-1] == 0


@pytest.mark.slow
def test_the_light_page_alone_needs_no_other_tool_and_leaves_others_files_alone(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(light_page, "OF_EACH", 1)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "thesis.txt").write_text("keep me")
    with pytest.raises(CommandError, match="holds something else"):
        build_light_site(tmp_path / "mine")
    out = tmp_path / "out"
    assert build_light_site(out) == build_light_site(out)  # an earlier page of ours is replaced
    assert 'href="practice/"' in (out / "index.html").read_text(encoding="utf-8")
    assert "The whole course" not in (out / "practice" / "index.html").read_text(encoding="utf-8")
    assert sorted(path.name for path in out.iterdir()) == [MARK, "index.html", "practice"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["mine", "out"]


def test_the_front_page_leads_to_practice_before_the_units():
    page = front_page([UnitLink("02_x", "Unit 2", "About.")], "store")
    assert page.index('href="practice/"') < page.index("The units")
    assert f"loads about {FIRST_FORM} MB the first time, so use Wi-Fi" in page


@pytest.mark.slow
def test_the_light_page_of_a_school_tells_its_ranges_and_kpa_first(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Texts are packed with {} for what differs; a number is put there to read them."""
    monkeypatch.setattr(light_page, "OF_EACH", 3)
    with by_settings(SCHOOL):
        write_light_page(tmp_path / "practice", course_folder())
    said = ""
    for path in (tmp_path / "practice").iterdir():
        if path.suffix in {".html", ".json"}:
            text = re.sub(r"\{\d*\}", "7", path.read_text(encoding="utf-8"))
            text = re.sub(r'"sources":"[^"]*"', "", text)
            assert not mmhg_first(re.sub(r"</?(?:dfn|span)[^>]*>", "", text)), path.name
            said += text
    assert "22–26" not in said
    assert "21–28" in said
