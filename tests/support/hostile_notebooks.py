"""Cells and notebooks that a stranger could send: none of them may start by itself."""

from __future__ import annotations

SETUP = 'from acidbase_lib import open_unit\nunit = open_unit("02_primary_disorder", form=1)'
MARK = "open('ran.txt', 'w').close()"  # what each would do

#: Whole cells that look like the kit's own.
HOSTILE_CELLS: tuple[str, ...] = (
    f"{SETUP}\n{MARK}",
    f"{SETUP}; {MARK}",
    f"{MARK}\n{SETUP}",
    f"\n{SETUP}",
    f"{SETUP}\n",
    f"{SETUP} # and so on",
    SETUP.replace("\n", "\r"),
    SETUP.replace("\n", "\u2028"),
    SETUP.replace("\n", f"\n{MARK}\n"),
    SETUP.replace("open_unit\n", f"open_unit; {MARK}\n"),
    SETUP.replace("acidbase_lib", "acidbase_lib_"),
    SETUP.replace("acidbase_lib", "acidbase_lib.evil"),
    SETUP.replace("from ", "from ."),
    SETUP.replace("import open_unit", "import open_unit as x"),
    SETUP.replace("open_unit", "оpen_unit"),  # a Cyrillic letter
    SETUP.replace("form=1", f"form=[{MARK}]"),
    SETUP.replace("form=1", "form=__import__('os').system('touch ran.txt')"),
    SETUP.replace("form=1", "form=1, folder=Path('..')"),
    SETUP.replace("form=1", 'form=1, picks="0" + evil()'),
    SETUP.replace("form=1", 'form=1, picks="\\"+evil()+\\""'),
    SETUP.replace('"02_primary_disorder"', f'f"{{{MARK}}}"'),
    SETUP.replace("02_primary_disorder", "../../evil"),
    SETUP.replace("02_primary_disorder", '02" + evil() + "'),
    SETUP.replace("unit = ", "unit = x = "),
    f"%%chart {{{MARK}}}\npH: low",
    "%%chart q2-1 {__import__('os').system('touch ran.txt')}\npH: low",
    "%%chart $evil\npH: low",
    "%%chart q2-1;touch\npH: low",
    "%%chart\tq2-1\npH: low",
    " %%chart q2-1\npH: low",
    "\n%%chart q2-1\npH: low",
    f"{MARK}\n%%chart q2-1\npH: low",
    "%%chart q2-1\u2028!touch ran.txt\n",
    "%%chart q2-1\r!touch ran.txt",
    "%%chart q2-1\x0b!touch ran.txt",
    "%chart q2-1\npH: low",
    "%%charts q2-1\npH: low",
    "%%bash\ntouch ran.txt",
    "%%chart_whose_first_line_was_lost q2-1\npH: low",
    "!touch ran.txt",
    "from acidbase_lib import explore_ranges\nexplore_ranges(); " + MARK,
    "from acidbase_lib import explore_ranges\nexplore_balance()",
    "from acidbase_lib import explore_ranges, system\nexplore_ranges()",
    "from acidbase_lib import open_unit\nopen_unit()",
    f"from acidbase_lib import explore_ranges\nexplore_ranges({MARK})",
    f'unit.practice("oxygen"); {MARK}',
    f'unit.practice("oxygen", {MARK})',
    'unit.practice("oxy\\"+evil()+\\"gen")',
    "unit.practice('oxygen')",
    'unit.practice("oxygen")\n' + MARK,
    'unit.__init__("x")',
    "unit.practice.__globals__()",
    "unit.show()",
    'unit.mark("q2-1")',
    f"from acidbase_lib import open_home\nopen_home({MARK})",
    f"from acidbase_lib import open_home\nopen_home()\n{MARK}",
    "",
    "pass",
)

#: Whole notebooks, as the sources of their code cells: not one cell of them may start.
HOSTILE_NOTEBOOKS: tuple[tuple[str, ...], ...] = (
    (MARK, SETUP, "%%chart q2-1\ndisorder:"),
    ("%%chart q2-1\n!touch ran.txt",),
    ("%%chart q2-1\ndisorder:", SETUP),
    ("from IPython import get_ipython", SETUP),
    ('unit.practice("oxygen")',),
    ("from acidbase_lib import explore_ranges\nexplore_ranges()",),
    *((cell, "%%chart q2-1\n!touch ran.txt", 'unit.practice("oxygen")') for cell in HOSTILE_CELLS),
)
