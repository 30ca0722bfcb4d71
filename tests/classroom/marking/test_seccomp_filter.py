"""The filter of system calls: read by a small machine of our own, and by Linux itself."""
from __future__ import annotations

import ctypes
import ctypes.util
import errno
import json
import platform
import socket
import struct
import subprocess
import sys

import pytest

from acidbase_lib.classroom.marking import sandbox, seccomp_filter
from acidbase_lib.classroom.marking.sandbox import Fence, fenced, sandbox_trouble
from acidbase_lib.classroom.marking.seccomp_filter import (
    MACHINES,
    Machine,
    UnknownMachineError,
    filter_program,
    machine_here,
)

ALLOWED, KILLED = 0x7FFF0000, 0x80000000
TABLES = {"refused": seccomp_filter._REFUSED, "ignored": seccomp_filter._IGNORED,
          "starts": seccomp_filter._STARTS, "looked at": seccomp_filter._LOOKED_AT}
machines = pytest.mark.parametrize("machine", MACHINES.values(), ids=MACHINES)
needs_fence = pytest.mark.skipif(bool(sandbox_trouble()),
                                 reason=f"nothing can be fenced in here: {sandbox_trouble()}")


def answer(program: bytes, machine: Machine, number: int, *arguments: int,
           audit: int | None = None) -> int:
    """What the filter answers a call, by the rules of classic BPF (Linux, networking/filter.rst).

    0 is "as if done", an errno is a refusal; ALLOWED and KILLED are as Linux names them.
    """
    data = struct.pack("<iIQ6Q", ctypes.c_int32(number).value,
                       machine.audit if audit is None else audit, 0,
                       *(one % 2**64 for one in (*arguments, *[0] * (6 - len(arguments)))))
    steps = list(struct.iter_unpack("<HBBI", program))
    place, held = 0, 0
    while True:
        code, yes, no, value = steps[place]
        place += 1
        if code == 0x20:
            held = struct.unpack_from("<I", data, value)[0]
        elif code == 0x54:
            held &= value
        elif code in (0x15, 0x25):
            place += yes if (held == value if code == 0x15 else held > value) else no
        else:
            assert code == 0x06, "no step of another kind is in it"
            return value & 0xFFFF if value & 0xFFFF0000 == 0x00050000 else value


@machines
@pytest.mark.parametrize("table", TABLES)
def test_every_number_is_the_one_that_libseccomp_holds(machine: Machine, table: str) -> None:
    """libseccomp keeps its own table of Linux's calls (2.5.4 as packed by Debian 12)."""
    path = ctypes.util.find_library("seccomp")
    if path is None:
        pytest.skip("libseccomp is not installed")
    number_of = ctypes.CDLL(path).seccomp_syscall_resolve_name_arch
    number_of.argtypes = [ctypes.c_uint32, ctypes.c_char_p]
    names = [row.split()[0] for row in TABLES[table].split(",")]
    theirs = {name: number_of(machine.audit, name.encode()) for name in names}
    assert machine.calls(TABLES[table]) == {
        name: number for name, number in theirs.items() if number >= 0}


@machines
@pytest.mark.parametrize("other_programs", [False, True])
def test_each_call_of_the_list_is_refused_and_chmod_does_nothing(machine: Machine,
                                                                other_programs: bool) -> None:
    program = filter_program(machine, other_programs)
    assert {answer(program, machine, number)
            for number in machine.calls(TABLES["refused"]).values()} == {errno.EPERM}
    assert {answer(program, machine, number)
            for number in machine.calls(TABLES["ignored"]).values()} == {0}
    assert {answer(program, machine, number)
            for number in machine.calls(TABLES["starts"]).values()} <= {
                ALLOWED if other_programs else errno.EPERM}


@machines
def test_what_python_needs_is_allowed(machine: Machine) -> None:
    """read, write, openat, execve, futex, mprotect, getpid: Linux's tables as above."""
    program = filter_program(machine)
    numbers = {"x86_64": (0, 1, 257, 59, 202, 10, 39), "aarch64": (63, 64, 56, 221, 98, 226, 172)}
    assert {answer(program, machine, number) for number in numbers[machine.name]} == {ALLOWED}


@machines
def test_a_call_in_another_machines_manner_ends_the_program(machine: Machine) -> None:
    """As i386's ``int 0x80`` (AUDIT_ARCH_I386) and 32-bit ARM (AUDIT_ARCH_ARM)."""
    program = filter_program(machine)
    for audit in (0x40000003, 0x40000028):
        assert answer(program, machine, 1, audit=audit) == KILLED


@machines
def test_calls_that_are_newer_or_of_the_x32_kind_are_missing(machine: Machine) -> None:
    program = filter_program(machine)
    for number in (463, 467, 512, 547, 0x40000000 + 41, 2**31, -1):
        assert answer(program, machine, number) == errno.ENOSYS
    assert answer(program, machine, 435) == errno.ENOSYS, "clone3, whose flags lie in memory"


@machines
@pytest.mark.parametrize("flag", [
    0x00020000, 0x02000000, 0x04000000, 0x08000000, 0x10000000, 0x20000000, 0x40000000])
def test_no_new_namespace_by_clone(machine: Machine, flag: int) -> None:
    """CLONE_NEWNS, NEWCGROUP, NEWUTS, NEWIPC, NEWUSER, NEWPID, NEWNET: clone(2)."""
    number = machine.calls(TABLES["looked at"])["clone"]
    for other_programs in (False, True):
        program = filter_program(machine, other_programs)
        for flags in (flag, flag | 17, flag | 0x3D0F00, flag | 17 | 2**40):
            assert answer(program, machine, number, flags) == errno.EPERM


@machines
def test_threads_are_allowed_and_other_programs_where_it_is_said(machine: Machine) -> None:
    number = machine.calls(TABLES["looked at"])["clone"]
    thread, fork, spawn = 0x3D0F00, 0x01200011, 0x4111  # as glibc's pthread_create, fork, posix_...
    alone, others = filter_program(machine), filter_program(machine, True)
    assert answer(alone, machine, number, thread) == answer(others, machine, number, thread) \
        == ALLOWED
    for flags in (fork, spawn):
        assert answer(alone, machine, number, flags) == errno.EPERM
        assert answer(others, machine, number, flags) == ALLOWED


@machines
def test_sockets_are_of_one_family_only(machine: Machine) -> None:
    program, calls = filter_program(machine), machine.calls(TABLES["looked at"])
    for name in ("socket", "socketpair"):
        got = {family: answer(program, machine, calls[name], family, 1) for family in range(-1, 60)}
        assert got.pop(socket.AF_UNIX) == ALLOWED
        assert set(got.values()) == {errno.EOPNOTSUPP}


@machines
def test_memory_that_belongs_to_no_process_cannot_be_had(machine: Machine) -> None:
    """MAP_SHARED 1, MAP_PRIVATE 2, MAP_SHARED_VALIDATE 3, MAP_ANONYMOUS 0x20: mmap(2)."""
    program = filter_program(machine)
    number = machine.calls(TABLES["looked at"])["mmap"]
    for flags in (0x21, 0x23, 0x4021, 0x8021, 0x40022):
        assert answer(program, machine, number, 0, 4096, 3, flags, -1) == errno.EPERM
    for flags in (0x22, 0x4022, 0x02, 0x812, 0x01):
        assert answer(program, machine, number, 0, 4096, 3, flags, -1) == ALLOWED


@machines
def test_nothing_is_typed_into_the_markers_terminal(machine: Machine) -> None:
    """TIOCSTI; the upper half of an argument does not hide it (CVE-2019-10063)."""
    program, number = filter_program(machine), machine.calls(TABLES["looked at"])["ioctl"]
    for request in (0x5412, 0x5412 | 2**32, 0x541C):
        assert answer(program, machine, number, 0, request) == errno.EPERM
    assert answer(program, machine, number, 0, 0x5401) == ALLOWED


def test_where_no_filter_is_known_nothing_is_run(monkeypatch: pytest.MonkeyPatch) -> None:
    sandbox._filter_file.cache_clear()
    monkeypatch.setattr(platform, "machine", lambda: "riscv64")
    with pytest.raises(UnknownMachineError, match="riscv64"):
        machine_here()
    monkeypatch.setattr(sandbox.shutil, "which", lambda name: f"/usr/bin/{name}")
    assert "processor riscv64" in sandbox_trouble()
    with pytest.raises(sandbox.SandboxError, match=r"riscv64.*never run"):
        sandbox.require_sandbox()


LIVE = """
import ctypes, errno, json, os, socket, threading
held = [line.split()[1] for line in open('/proc/self/status') if line.startswith('Seccomp:')]
assert held == ['2'], 'no filter: nothing is tried'
libc = ctypes.CDLL(None, use_errno=True)
def told(number, *arguments):
    ctypes.set_errno(0)
    got = libc.syscall(ctypes.c_long(number), *map(ctypes.c_long, arguments or (-1,) * 6))
    if got == 0 and os.getpid() != me:
        os._exit(0)
    return errno.errorcode[ctypes.get_errno()] if got < 0 else got
me = os.getpid()
def family(number):
    try:
        socket.socket(number, socket.SOCK_STREAM).close()
    except OSError as slip:
        return errno.errorcode[slip.errno]
    return 'open'
calls = json.loads(CALLS)
seen = {name: told(number) for name, number in calls.items()}
seen['a user namespace by unshare'] = told(calls['unshare'], 0x10000000)
seen['a user namespace by clone'] = told(CLONE, 0x10000000 | 17, 0, 0, 0, 0)
seen['a program by clone'] = told(CLONE, 17, 0, 0, 0, 0)
seen['clone3'] = told(435, 0, 0)
for name in ('AF_INET', 'AF_INET6', 'AF_VSOCK', 'AF_NETLINK', 'AF_PACKET', 'AF_ALG', 'AF_UNIX'):
    seen[name] = family(getattr(socket, name))
began = []
thread = threading.Thread(target=began.append, args=(1,)); thread.start(); thread.join()
seen['threads'] = len(began)
print(json.dumps(seen))
"""


@needs_fence
@pytest.mark.skipif(sys.platform != "linux", reason="seccomp is Linux's")
def test_linux_itself_refuses_each_call_in_the_fence() -> None:
    machine = machine_here()
    calls = machine.calls(f"{TABLES['refused']}, {TABLES['starts']}")
    program = LIVE.replace("CALLS", repr(json.dumps(calls))).replace(
        "CLONE", str(machine.calls(TABLES["looked at"])["clone"]))
    done = subprocess.run(fenced([sys.executable, "-c", program], Fence(256, 24, 10, 8)),
                          capture_output=True, text=True, check=False, timeout=30)
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout)
    families = {name: seen.pop(name) for name in list(seen) if name.startswith("AF_")}
    assert families.pop("AF_UNIX") == "open"
    assert {getattr(errno, name) for name in families.values()} == {errno.EOPNOTSUPP}
    assert (seen.pop("threads"), seen.pop("clone3")) == (1, "ENOSYS")
    assert {name for name, got in seen.items() if got != "EPERM"} == set()
    assert len(seen) > 80
