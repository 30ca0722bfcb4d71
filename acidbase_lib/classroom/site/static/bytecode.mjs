// Compile wheels and the standard library ahead, with the page's own Python: node this PYODIDE FILE...
// A file is replaced only when its new version is whole. "+FILE" keeps the sources beside.
import fs from "node:fs";
import path from "node:path";
import {pathToFileURL} from "node:url";

const [home, ...files] = process.argv.slice(2);
const {loadPyodide} = await import(pathToFileURL(path.join(home, "pyodide.mjs")).href);
const python = await loadPyodide({indexURL: home});
python.runPython(`
import io, re, warnings, zipfile
from importlib.util import MAGIC_NUMBER, cache_from_source, source_hash
from marshal import dumps

warnings.simplefilter("ignore")  # other projects' escapes
# never run on the page: a test, or what colors any language but Python
SELDOM = re.compile(r"/tests?/|^pygments/(lexers|styles|formatters)/(?!__init__|_mapping|python|html"
                    r"|terminal|default|special)")

def compiled(data, keep_sources):
    written = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data.to_bytes())) as old, zipfile.ZipFile(
            written, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as new:
        for entry in old.infolist():
            body = old.read(entry)
            if entry.filename.endswith(".py") and not SELDOM.search(entry.filename):
                try:
                    code = compile(body, entry.filename, "exec", dont_inherit=True, optimize=0)
                except (SyntaxError, ValueError):  # a template, or a test of the parser
                    new.writestr(entry, body)
                    continue
                # 1: known by its source's hash, which nobody checks
                head = MAGIC_NUMBER + (1).to_bytes(4, "little") + source_hash(body)
                name = cache_from_source(entry.filename) if keep_sources else entry.filename + "c"
                new.writestr(zipfile.ZipInfo(name, entry.date_time), head + dumps(code),
                             zipfile.ZIP_DEFLATED)
                if not keep_sources:
                    continue
            new.writestr(entry, body)
    return written.getvalue()
`);
const compiled = python.globals.get("compiled");
for (const told of files) {
    const keep = told.startsWith("+"), file = keep ? told.slice(1) : told;
    const made = compiled(new Uint8Array(fs.readFileSync(file)), keep);
    fs.writeFileSync(`${file}.part`, made.toJs());
    made.destroy();
    fs.renameSync(`${file}.part`, file);
}
