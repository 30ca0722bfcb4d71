"""Hostile code handed in where code is asked for: what it does and what must come of it."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

RIGHT = "def expected(hco3):\n    return 1.5 * hco3 + 8"
LISTED = "low = [7.2, 7.3]"  # worth one point of three
MARKED, NOT = "marked", "not marked"


@dataclass(frozen=True)
class Hostile:
    """Code in the first answer; the second is right, and earns its one point where it can.

    ``{course}`` stands for the course's folder and ``{home}`` for one outside it. ``states`` are
    those that it may end in; ``most`` is the most it may earn.
    """

    name: str
    code: str
    states: tuple[str, ...] = (MARKED,)
    most: float = 1.0
    needs_caps: bool = False  # run only once the caps have been seen to hold
    slow: bool = False
    other_programs: bool = False  # whether it is tried where it may start others, as few may
    says: str = ""
    shows: str = ""  # in the output of the answer


def _table() -> Iterator[Hostile]:
    either = (MARKED, NOT)
    yield Hostile("an endless loop", "while True: pass", slow=True)
    yield Hostile("a loop that will not be stopped", "import signal\nsignal.signal(signal.SIGINT, "
                  "signal.SIG_IGN)\nwhile True: pass", (NOT,), slow=True, says="12 seconds")
    yield Hostile("ten gigabytes at once", "x = bytearray(10**10)", needs_caps=True)
    yield Hostile("memory in many processes", "import os, time\nfor _ in range(8):\n"
                  "    if os.fork() == 0:\n        x = bytearray(b'x') * 150_000_000\n"
                  "        time.sleep(30)\n        os._exit(0)\ntime.sleep(4)", (NOT,),
                  needs_caps=True, other_programs=True, says="MB of memory")
    yield Hostile("a fork bomb", "import os\nwhile True:\n    try:\n        os.fork()\n"
                  "    except OSError:\n        break\nimport time; time.sleep(30)", either,
                  needs_caps=True, slow=True)
    yield Hostile("a thousand threads", "import threading, time\nfor _ in range(1000):\n"
                  "    threading.Thread(target=time.sleep, args=(30,)).start()", either,
                  needs_caps=True)
    yield Hostile("a flood of output", "while True: print('x' * 10_000, flush=True)", either,
                  slow=True)
    yield Hostile("one output as large as memory allows", "print('x' * 100_000_000)", either)
    yield Hostile("a flood on the raw streams", "import os\nfor _ in range(20_000): "
                  "os.write(1, b'x' * 1000); os.write(2, b'x' * 1000)", either, slow=True)
    yield Hostile("a full disk", "for n in range(100): open(f'/tmp/{n}', 'wb').write(b'x' * 10**7)")
    # The folder is closed by then; test_sandbox_watch.py holds what is counted before.
    yield Hostile("its own connection's folder filled", "import glob, time\nplace = "
                  "glob.glob('/tmp/acidbase-*')[0]\nfor n in range(50_000):\n"
                  "    open(f'{place}/{n}', 'w').close()\ntime.sleep(3)",
                  shows="PermissionError")
    yield Hostile("a sub-folder of its connection's folder filled", "import glob, os\nplace = "
                  "glob.glob('/tmp/acidbase-*')[0]\ntry: os.chmod(place, 0o777)\n"
                  "except OSError: pass\nos.makedirs(place + '/a/b')\nfor n in range(100):\n"
                  "    open(f'{place}/a/b/{n}', 'wb').write(b'x' * 2**20)\n",
                  shows="PermissionError")
    yield Hostile("another program", "import subprocess\nsubprocess.run(['true'])",
                  shows="PermissionError")
    yield Hostile("memory shared and let go", "import mmap, os\nfor _ in range(12):\n"
                  "    part = mmap.mmap(-1, 50 * 2**20)\n    part.write(b'x' * 50 * 2**20)\n",
                  needs_caps=True, shows="PermissionError")
    yield Hostile("memory kept in files without a name", "import os\nkept = []\n"
                  "for _ in range(100):\n    kept.append(os.memfd_create('x'))\n"
                  "    os.write(kept[-1], b'x' * 7 * 2**20)", needs_caps=True,
                  shows="PermissionError")
    yield Hostile("memory kept by System V", "import ctypes\nlibc = ctypes.CDLL(None, "
                  "use_errno=True)\nfor _ in range(20):\n    if libc.shmget(0, 50 * 2**20, "
                  "0o1600) < 0:\n        raise OSError(ctypes.get_errno(), 'refused')",
                  needs_caps=True, shows="PermissionError")
    yield Hostile("shared memory by its folder", "open('/dev/shm/x', 'wb').write(b'x' * 10**8)",
                  needs_caps=True, shows="Read-only file system")
    yield Hostile("a hundred thousand empty files", "import time\nfor n in range(100_000):\n"
                  "    open(f'/tmp/{n}', 'w').close()\ntime.sleep(3)", (NOT,),
                  says="more than 2000 files")
    yield Hostile("sockets that nobody takes", "import socket, time\nheard = socket.socket("
                  "socket.AF_UNIX)\nheard.bind('/tmp/h')\nheard.listen(400)\n"
                  "for _ in range(300):\n    with socket.socket(socket.AF_UNIX) as one:\n"
                  "        one.connect('/tmp/h')\ntime.sleep(3)", (NOT,),
                  says="more than 200 sockets")
    for what, sent in (
            ("an output without its parts", "kernel.session.send(place, 'stream', {'bad': 1}, "
             "kernel.get_parent('shell'))"),
            ("an output that is no message", "place.send_multipart([b'junk'])"),
            ("an output with a false signature", "place.send_multipart([b'a', b'<IDS|MSG>', "
             "b'x', b'{', b'{', b'{', b'{'])")):
        yield Hostile(what, "kernel = get_ipython().kernel\nplace = kernel.iopub_socket\n"
                      f"{sent}\n{RIGHT}", (NOT,), says="messages that no kernel sends")
    yield Hostile("a namespace of its own", "import ctypes\nlibc = ctypes.CDLL(None, "
                  "use_errno=True)\nif libc.unshare(0x10000000):\n"
                  "    raise OSError(ctypes.get_errno(), 'refused')\n" + RIGHT,
                  shows="PermissionError")
    yield Hostile("a call to the host of the virtual machine", "import socket\n"
                  "socket.socket(socket.AF_VSOCK, socket.SOCK_STREAM).connect((2, 1024))\n"
                  + RIGHT, shows="Operation not supported")
    yield Hostile("a call over the network", "import socket\n"
                  "socket.create_connection(('127.0.0.1', {port}), 2).send(b'x')\n" + RIGHT)
    yield Hostile("a name looked up", "import socket\nsocket.gethostbyname('localhost.')\n"
                  "raise SystemExit", )
    for what, path in (("the gradebook", "grading/gradebook.db"),
                       ("the keys", "solutions/code/code.ipynb"),
                       ("another's submission", "grading/submitted/a-first/code/code.ipynb"),
                       ("its own marked notebook", "grading/autograded/a-first/code/code.ipynb")):
        yield Hostile(f"reading {what}", f"kept = open('{{course}}/{path}', 'rb').read()\n" + RIGHT)
    # The system's own files, the kit's course and its keyless templates are no secret.
    yield Hostile("a hard look for everything", "import os\nfound = []\n"
                  "for top, folders, names in os.walk('/'):\n"
                  "    folders[:] = [f for f in folders if top != '/' or f not in "
                  "('usr', 'bin', 'sbin', 'lib', 'lib32', 'lib64', 'proc', 'sys', 'dev')]\n"
                  "    found += [p for n in names for p in [top + '/' + n] if n.endswith(('.db', "
                  "'.ipynb')) and 'site-packages' not in p and '/_course/' not in p "
                  "and '/acidbase_lib/classroom/notebooks/templates/' not in p]\n"
                  "assert found, 'nothing is there'\n" + RIGHT)
    yield Hostile("reading the hidden tests", "import gc, sys\nseen = [o for o in gc.get_objects() "
                  "if isinstance(o, dict) and 'HIDDEN' + ' TESTS' in str(o)]\n"
                  "assert seen, 'nothing is there'\n" + RIGHT)
    yield Hostile("reading the marker's settings", "import os\nassert 'ACIDBASE_SECRET' in "
                  "os.environ, 'nothing is there'\n" + RIGHT)
    yield Hostile("reading the marker's memory", "import os\nopen(f'/proc/{os.getppid()}/environ')"
                  ".read()\nassert len([p for p in os.listdir('/proc') if p.isdigit()]) > 9\n"
                  + RIGHT)
    for what, path in (("the course", "{course}/harmed"), ("a home", "{home}/harmed"),
                       ("the library", "/usr/lib/harmed")):
        yield Hostile(f"writing into {what}", f"open('{path}', 'w').write('x')\n" + RIGHT)
    yield Hostile("changing the library's own file", "import acidbase_lib\n"
                  "open(acidbase_lib.__file__, 'a').write('# harmed')\n" + RIGHT)
    yield Hostile("killing the marker", "import os, signal\nfor pid in (os.getppid(), {pid}):\n"
                  "    try: os.kill(pid, 9)\n    except OSError: pass", either)
    yield Hostile("killing everything", "import os\nos.kill(-1, 9)", either)
    yield Hostile("ending its own Python", "import os\nos._exit(0)", (NOT,), says="ended its own")
    yield Hostile("leaving a process behind", "import subprocess\n"
                  "subprocess.Popen(['setsid', 'sleep', '987'])")
    yield Hostile("patching the library", "import acidbase_lib.teaching.unit as u\n"
                  "u.Unit.mark = u.Unit.mark_of = lambda *a, **k: 3.0")
    yield Hostile("patching builtins", "import builtins\n"
                  "builtins.isinstance = lambda *a: True\nbuiltins.float = lambda *a: 3.0", either,
                  slow=True)
    yield Hostile("an object equal to everything", "class E:\n    def __eq__(self, other): return "
                  "True\n    def __ne__(self, other): return False\n"
                  "def expected(hco3): return E()")
    yield Hostile("an object that prints as code", "class E:\n    def __repr__(self): return "
                  "\"__import__('os').system('touch harmed')\"\ndef expected(hco3): return E()")
    yield Hostile("an object that prints as brackets", "class E:\n    def __repr__(self): return "
                  "'[' * 9_000\ndef expected(hco3): return E()")
    yield Hostile("a value as long as a book", "def expected(hco3): return 'x' * 3_000_000", either)
    yield Hostile("a value without end", "def expected(hco3):\n    while True: pass", slow=True)
    yield Hostile("a number that is none", "def expected(hco3): return float('inf')")
    yield Hostile("everything printed twice", "import sys\nsys.displayhook = lambda value: "
                  "print('26')\n" + "def expected(hco3): return 0")
    yield Hostile("a second cell of the check's name", "learner = lambda text: 26\n"
                  "def expected(hco3): return 0")
    yield Hostile("input that never comes", "x = input('password: ')\n" + RIGHT)
    yield Hostile("code that is no Python", "expected <- function(hco3) 1.5 * hco3 + 8")


HOSTILE = tuple(_table())
