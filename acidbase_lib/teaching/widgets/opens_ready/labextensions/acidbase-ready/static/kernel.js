// What is asked of a kernel before and after the kit's cells run. It is no cell: nobody sees it, and it
// leaves no name behind.

// A folder that came with a notebook may hold a file `acidbase_lib.py` or `ipywidgets.py`. Python would
// take it for the real one, because a kernel looks into the notebook's folder first. While cells start by
// themselves it does not look there at all, and afterwards only when nothing installed has the name.
const ENTER = `
def _acidbase_ready():
    import json, os, sys
    here = os.path.realpath(os.curdir)  # also where an empty entry of PYTHONPATH has put its whole name
    sys.path[:] = [place for place in sys.path if os.path.realpath(place or os.curdir) != here]
    os.environ["ACIDBASE_OPENS_READY"] = "1"
    # The kernel of the page with no server counts and keeps these questions as well.
    run = [text for text in get_ipython().history_manager.input_hist_raw[1:]
           if not text.lstrip().startswith("def _acidbase_ready(")]
    told = {"runs": len(run), "kit": True, "unit": "", "places": []}
    try:
        from acidbase_lib.teaching.widgets.opens_ready import what_is_open
        told |= what_is_open(get_ipython())
    except ImportError:
        told["kit"] = False
    print("acidbase-ready:" + json.dumps(told))
_acidbase_ready()
del _acidbase_ready
`;
const LEAVE = `
def _acidbase_ready():
    import sys
    sys.path.append("")
_acidbase_ready()
del _acidbase_ready
`;

function run(kernel, code) {
  let said = "";
  const future = kernel.requestExecute({ code, silent: true, store_history: false, allow_stdin: false });
  future.onIOPub = ({ header, content }) => {
    if (header.msg_type === "stream" && content.name === "stdout") said += content.text;
  };
  return future.done.then(() => said);
}

// Ask what the kernel holds: {runs, kit, unit, places}, or null where it is no Python that can tell.
export async function enter(kernel) {
  if ((await kernel.info).language_info?.name !== "python") return null;
  const line = (await run(kernel, ENTER)).split("\n").find((one) => one.startsWith("acidbase-ready:"));
  return line ? JSON.parse(line.slice("acidbase-ready:".length)) : null;
}

export async function leave(kernel) {
  await run(kernel, LEAVE);
}
