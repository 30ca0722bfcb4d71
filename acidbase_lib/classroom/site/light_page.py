"""The light page in front of the course: practice drawn ahead, in one small folder of files."""
from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.glossary import glossary_page
from acidbase_lib.teaching.memory.record import FILE, FORMAT, HEAD, LARGEST
from acidbase_lib.teaching.memory.schedule import model_as_data
from acidbase_lib.teaching.memory.sure import SURE
from acidbase_lib.teaching.practice.ahead import OFFERED, drawn_ahead
from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY
from acidbase_lib.teaching.practice.looked_at import PAUSE
from acidbase_lib.teaching.practice.skills import TAUGHT_IN, kinds_of
from acidbase_lib.teaching.practice.what_i_need import WHAT_I_NEED
from acidbase_lib.teaching.practice.whole_gas import WHOLE_GAS
from acidbase_lib.teaching.theme import PALETTE, Html, escape, page
from acidbase_lib.teaching.widgets.assets import asset

from .front_page import FIRST_FORM
from .icon import icon_png
from .lines_to_keep import lines_to_keep
from .topic_file import topic_file

FOLDER: Final = "practice"
OF_EACH: Final = 40  # patients of each wish; with gases and scenes 4,329 cases in all
_TITLE: Final = "Acid–base practice"
_SIDES: Final = (192, 512)

_STYLE: Final = """
.light-links a,.light-tap{display:inline-flex;align-items:center;min-height:44px}
#light-topics{list-style:none;margin:0;padding:0;display:flex;flex-wrap:wrap;gap:.5rem}
#light-topics *{box-sizing:border-box}
#light-topics a{display:flex;align-items:center;min-height:44px;padding:.4rem .9rem;
border:1px solid var(--ab-control);border-radius:var(--ab-round);color:var(--ab-ink);
text-decoration:none}
#light-topics a[aria-current]{border:2px solid var(--ab-accent);font-weight:600}
#light-choose,#light-keep{margin:0 0 .5rem}
details summary{min-height:44px;padding:.6rem 0;cursor:pointer}
.light-row{display:flex;flex-wrap:wrap;gap:.6rem}
.light-button{font:inherit;color:var(--ab-ink);background:var(--ab-paper);cursor:pointer;
border:1px solid var(--ab-control);border-radius:var(--ab-round);padding:.4rem .9rem;
min-height:44px;display:inline-flex;align-items:center}
.light-button:focus-within{outline:3px solid var(--ab-accent);outline-offset:2px}
#light-said:empty,#light-offline:empty{margin:0}
[hidden]{display:none!important}
@media (max-width:480px){.ab-page{padding-top:1rem}}
"""

_BODY: Final = """
<details id="light-choose"><summary>Topic: <strong id="light-now">{first}</strong>. Choose
another</summary><ul id="light-topics">{topics}</ul></details>
<details id="light-keep" hidden><summary>Three lines to keep</summary><ol id="light-lines"></ol>
<p class="ab-quiet" id="light-sources"></p></details>
<p id="light-warning" class="ab-note" role="status" hidden></p>
<p id="light-said" role="status"></p>
<h2 class="ab-visually-hidden">Patients and scenes</h2>
<div id="light-practice">The first patient is on the way. If this sentence stays, the page was not
loaded whole, or this browser runs no JavaScript: load the page again, or take a newer
browser.</div>
<h2>Your progress</h2>
<div id="light-back" hidden><p><span id="light-back-said"></span></p>
<p><a class="light-tap" href="#{need}">Practice what I need</a></p></div>
<p id="light-none">Nothing yet. What you answer is counted here, in this browser only. Nobody else
gets it.</p>
<ul id="light-kept"></ul>
<p>Clearing the browser's site data deletes it, and a private window forgets it. A file keeps it,
and brings it to another phone or computer.</p>
<div class="light-row">
<button type="button" class="light-button" id="light-take">Take along as a file</button>
<label class="light-button">Bring back a file<input type="file" id="light-bring"
class="ab-visually-hidden"></label>
<button type="button" class="light-button" id="light-delete" hidden>Delete what is kept…</button>
</div>
<h2>More</h2>
<p id="light-offline" class="ab-quiet" role="status"></p>
<div id="light-newer" class="ab-note" hidden><p>A newer edition of this page is on this device,
whole. Your progress stays.</p><p><button type="button" class="light-button" id="light-swap">Use the
newer edition</button></p></div>
<div class="light-links"><p><a href="words.html">Words of the course, in plain sentences</a></p>
{whole}</div>
"""
_WHOLE: Final = """<p><a href="../index.html">The whole course</a><br>Units with lessons, questions
and pictures, to hand in. It loads about {size} MB before its first question: use Wi-Fi, and wait a
minute or two on a phone.</p>"""


def write_light_page(folder: Path, course: Path, behind: bool = False) -> int:
    """Write the page into a folder that is made for it; return how many cases it holds.

    Parameters
    ----------
    folder : Path
        Where to; parents must be there.
    course : Path
        The course whose lines to keep stand beside practice.
    behind : bool
        Whether the whole course stands behind it.
    """
    drawn = [drawn_ahead(name, _of_each(name)) for name in OFFERED]
    keep = {one.name: lines_to_keep(course, one.name) for one in drawn}
    edition = _hash(_script(), _worker(), _STYLE, _BODY,
                    *(topic_file(one, "", keep[one.name]) for one in drawn))
    data = {one.name: topic_file(one, edition, keep[one.name]).encode() for one in drawn}
    held: dict[str, bytes] = {_file_name(name, text): text for name, text in data.items()}
    held |= {f"icon-{side}.png": icon_png(side) for side in _SIDES}
    held["manifest.webmanifest"] = _json(_manifest()).encode()
    held["words.html"] = glossary_page().encode()
    topics = [{"name": name, "slug": _slug(name), "file": _file_name(name, text),
               "taught": [*TAUGHT_IN].index(name), "kinds": kinds_of(name)}
              for name, text in data.items()]
    held["index.html"] = _page(topics, edition, behind).encode()
    names = {name: sha256(text).hexdigest() for name, text in held.items()}
    # The page's own name is the digest of its files: a changed link is a new edition, too.
    stored = _hash(_json(names))
    held["offline.js"] = (f"const EDITION = {_json(stored)};\nconst FILES = {_json(names)};\n"
                          + _worker()).encode()
    folder.mkdir()
    for name, text in held.items():
        (folder / name).write_bytes(text)
    return sum(len(one.cases) for one in drawn)


def _of_each(name: str) -> int:
    """Scenes are drawn once each; a whole gas says much, and half as many are enough."""
    return 1 if name == CLINICAL_PRIORITY else -(-OF_EACH // 2) if name == WHOLE_GAS else OF_EACH


def light_front() -> str:
    """Return a page that leads to practice, where there is no course to list."""
    lead = (f'<p><a class="light-tap" href="{FOLDER}/">Practice on blood gases: a new patient at '
            "every press, and the reasons at once.</a></p>")
    return page(_TITLE, Html(lead), style=_STYLE,
                head=f'<meta http-equiv="refresh" content="0; url={FOLDER}/">\n')


def _page(topics: Sequence[Mapping[str, Any]], edition: str, behind: bool) -> str:
    need = {"name": WHAT_I_NEED, "slug": _slug(WHAT_I_NEED)}
    settings = {"topics": topics, "edition": edition, "caution": CAUTION, "need": need,
                "model": model_as_data(), "sure": SURE, "head": HEAD, "format": FORMAT,
                "file": FILE, "largest": LARGEST, "pause": PAUSE}
    script = f"\nconst SETTINGS = {_json(settings)};\n{_script()}"
    style = _STYLE + asset("chart_form.css", "practice.css")
    listed = "".join(f'<li><a href="#{one["slug"]}">{escape(one["name"])}</a></li>'
                     for one in (need, *topics))
    more = _WHOLE.format(size=FIRST_FORM) if behind else ""
    body = _BODY.format(first=escape(topics[0]["name"]), need=need["slug"],
                        topics=listed, whole=more)
    return page(_TITLE, Html(f'{body}<script type="module">{script}</script>'), style=style,
                head=_head(script))


def _head(script: str) -> str:
    """The page's rules for the browser: no other host, and no script but its own."""
    own = b64encode(sha256(script.encode()).digest()).decode()
    rules = ("default-src 'none'; connect-src 'self'; img-src 'self'; manifest-src 'self'; "
             f"worker-src 'self'; style-src 'unsafe-inline'; script-src 'sha256-{own}'; "
             "base-uri 'none'; form-action 'none'")
    return (f'<meta http-equiv="Content-Security-Policy" content="{rules}">\n'
            '<link rel="manifest" href="manifest.webmanifest">\n'
            f'<link rel="icon" href="icon-{_SIDES[0]}.png">'
            f'<link rel="apple-touch-icon" href="icon-{_SIDES[0]}.png">\n'
            f'<meta name="theme-color" content="{PALETTE["accent"]}">\n')


def _manifest() -> Mapping[str, Any]:
    icons = [{"src": f"icon-{side}.png", "sizes": f"{side}x{side}", "type": "image/png",
              "purpose": purpose} for side in _SIDES for purpose in ("any", "maskable")]
    return {"name": _TITLE, "short_name": "Acid–base", "lang": "en", "start_url": "./",
            "scope": "./", "id": "./", "display": "standalone", "description": CAUTION,
            "background_color": PALETTE["paper"], "theme_color": PALETTE["accent"],
            "icons": icons}


def _script() -> str:
    """What the page runs: the kit's own drawing of practice, and what brings it cases."""
    parts = [asset("placed.js", "practice.js"), *map(_static, (
        "practice_run.js", "practice_due.js", "practice_record.js", "practice_page.js"))]
    lines = (line.strip() for line in "\n".join(parts).splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))  # a thin line


def _worker() -> str:
    return _static("offline.js")


def _static(name: str) -> str:
    held = files("acidbase_lib.classroom.site").joinpath("static", name)
    return held.read_text(encoding="utf-8")


def _slug(name: str) -> str:
    return name.replace(" ", "-")


def _file_name(name: str, text: bytes) -> str:
    return f"{_slug(name)}.{sha256(text).hexdigest()[:10]}.json"


def _hash(*texts: str) -> str:
    return sha256("\0".join(texts).encode()).hexdigest()[:10]


def _json(data: Any) -> str:
    """Return data as JSON that may stand in a script."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("</", "<\\/")
