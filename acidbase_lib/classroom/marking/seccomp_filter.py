"""The system calls that a fenced program is refused, as a filter that Linux itself applies.

What seccomp reads is a small program of classic BPF; it is written here by hand, for the two
machines on which the kit is used. The numbers are those of Linux's own tables
(arch/x86/entry/syscalls/syscall_64.tbl and include/uapi/asm-generic/unistd.h); a test compares
them with those that libseccomp holds.
"""
from __future__ import annotations

import errno
import platform
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_REFUSED = """
acct 163 89, add_key 248 217, adjtimex 159 171, bpf 321 280, chroot 161 51,
clock_adjtime 305 266, clock_settime 227 112, create_module 174 -, delete_module 176 106,
fanotify_init 300 262, finit_module 313 273,
fsconfig 431 431, fsetxattr 190 7, fsmount 432 432,
fsopen 430 430, fspick 433 433,
get_kernel_syms 177 -, init_module 175 105, io_cancel 210 3, io_destroy 207 1,
io_getevents 208 4, io_pgetevents 333 292, io_setup 206 0, io_submit 209 2,
io_uring_enter 426 426, io_uring_register 427 427, io_uring_setup 425 425, ioperm 173 -,
iopl 172 -, kcmp 312 272, kexec_file_load 320 294, kexec_load 246 104, keyctl 250 219,
lookup_dcookie 212 18, lsetxattr 189 6, memfd_create 319 279, memfd_secret 447 447,
modify_ldt 154 -, mount 165 40, mount_setattr 442 442, move_mount 429 429, mq_open 240 180,
msgctl 71 187, msgget 68 186, msgrcv 70 188, msgsnd 69 189, name_to_handle_at 303 264,
nfsservctl 180 42, open_by_handle_at 304 265, open_tree 428 428, perf_event_open 298 241,
personality 135 92, pidfd_getfd 438 438, pivot_root 155 41, process_madvise 440 440,
process_vm_readv 310 270, process_vm_writev 311 271, ptrace 101 117, query_module 178 -,
quotactl 179 60, quotactl_fd 443 443, reboot 169 142, remap_file_pages 216 234,
request_key 249 218, semctl 66 191, semget 64 190, semop 65 193, setdomainname 171 162,
sethostname 170 161, setns 308 268, settimeofday 164 170, setxattr 188 5, shmat 30 196,
shmctl 31 195, shmdt 67 197, shmget 29 194, splice 275 76, swapoff 168 225, swapon 167 224,
_sysctl 156 -, sysfs 139 -, syslog 103 116, tee 276 77, umount2 166 39, unshare 272 97,
uselib 134 -, userfaultfd 323 282, ustat 136 -, vhangup 153 58, vmsplice 278 75
"""
_IGNORED = "chmod 90 -, fchmod 91 52, fchmodat 268 53, fchmodat2 452 452"  # Python's copies ask it
_STARTS = "fork 57 -, vfork 58 -"
_LOOKED_AT = "clone 56 220, clone3 435 435, ioctl 16 29, mmap 9 222, socket 41 198, " \
    "socketpair 53 199"
NEWEST = 462  # mseal, Linux 6.10: a later call, and each of x86-64's x32 calls, is unknown here
NAMESPACES = 0x7E020000  # CLONE_NEWNS, NEWCGROUP, NEWUTS, NEWIPC, NEWUSER, NEWPID, NEWNET
THREAD = 0x10000  # CLONE_THREAD
SHARED_NOWHERE = (0x2F, 0x21), (0x2F, 0x23)  # MAP_SHARED, MAP_SHARED_VALIDATE; MAP_ANONYMOUS
HUGE = 0x40000  # MAP_HUGETLB: not in what /proc calls resident
TERMINAL = 0x5412, 0x541C  # TIOCSTI, TIOCLINUX: typing into the terminal of whoever marks
AF_UNIX = 1
_LOAD, _AND, _EQUAL, _GREATER, _RETURN = 0x20, 0x54, 0x15, 0x25, 0x06  # BPF's own names
_KILL, _ERRNO, _ALLOW = 0x80000000, 0x00050000, 0x7FFF0000  # SECCOMP_RET_...
_NUMBER, _MACHINE, _ARGUMENTS = 0, 4, 16  # where struct seccomp_data holds them

Step = tuple[int, int, int, int]


class UnknownMachineError(RuntimeError):
    """No filter is known for this kind of processor."""


@dataclass(frozen=True, slots=True)
class Machine:
    """A kind of processor: its place in the tables above, and what Linux calls it."""

    name: str
    column: int
    audit: int

    def calls(self, table: str) -> dict[str, int]:
        """Return the number of each call of a table that this machine has."""
        rows = [row.split() for row in table.split(",")]
        return {row[0]: int(row[self.column]) for row in rows if row[self.column] != "-"}


MACHINES = {one.name: one for one in (Machine("x86_64", 1, 0xC000003E),
                                      Machine("aarch64", 2, 0xC00000B7))}


def machine_here() -> Machine:
    """Return this machine's kind.

    Raises
    ------
    UnknownMachineError
        Where no filter is known for it.
    """
    name = platform.machine()
    if name not in MACHINES:
        raise UnknownMachineError(f"no filter of system calls is known for the processor {name} "
                                  f"(known: {', '.join(MACHINES)})")
    return MACHINES[name]


def filter_program(machine: Machine, other_programs: bool = False) -> bytes:
    """Return the filter, as ``bwrap --seccomp`` reads it.

    Parameters
    ----------
    machine : Machine
        For which it is; a call in another machine's manner ends the program.
    other_programs : bool
        Whether the fenced program may start others; threads it may start in any case.
    """
    return b"".join(struct.pack("<HBBI", *step) for step in _steps(machine, other_programs))


def _steps(machine: Machine, other_programs: bool) -> Iterator[Step]:
    known = machine.calls(_LOOKED_AT)
    yield _LOAD, 0, 0, _MACHINE
    yield _EQUAL, 1, 0, machine.audit
    yield _RETURN, 0, 0, _KILL
    yield _LOAD, 0, 0, _NUMBER
    yield _GREATER, 0, 1, NEWEST
    yield _refuse(errno.ENOSYS)
    yield _EQUAL, 0, 1, known["clone3"]  # its flags lie in memory; C libraries then use clone
    yield _refuse(errno.ENOSYS)
    for number in machine.calls(_REFUSED if other_programs else f"{_REFUSED}, {_STARTS}").values():
        yield _EQUAL, 0, 1, number
        yield _refuse(errno.EPERM)
    for number in machine.calls(_IGNORED).values():
        yield _EQUAL, 0, 1, number
        yield _refuse(0)
    threads = () if other_programs else _where(0, THREAD, 0)
    yield from _looked_at(known["clone"], [*_unless_clear(0, NAMESPACES), *threads])
    yield from _looked_at(known["mmap"], [step for mask, value in SHARED_NOWHERE
                                          for step in _where(3, mask, value)]
                          + [*_where(3, HUGE, HUGE)])
    yield from _looked_at(known["ioctl"], [step for request in TERMINAL
                                           for step in _where(1, 0xFFFFFFFF, request)])
    for name in ("socket", "socketpair"):  # EOPNOTSUPP: libzmq goes on without a network then
        yield from _looked_at(known[name], [_argument(0), (_EQUAL, 1, 0, AF_UNIX),
                                            _refuse(errno.EOPNOTSUPP)])
    yield _RETURN, 0, 0, _ALLOW


def _looked_at(number: int, steps: Sequence[Step]) -> Iterator[Step]:
    """Steps for one call, which is allowed where none of them refuses it."""
    yield _EQUAL, 0, len(steps) + 1, number
    yield from steps
    yield _RETURN, 0, 0, _ALLOW


def _where(place: int, mask: int, value: int) -> tuple[Step, ...]:
    """Refuse a call whose argument has these bits as they are told."""
    return _argument(place), (_AND, 0, 0, mask), (_EQUAL, 0, 1, value), _refuse(errno.EPERM)


def _unless_clear(place: int, mask: int) -> tuple[Step, ...]:
    """Refuse a call whose argument has any of these bits."""
    return _argument(place), (_AND, 0, 0, mask), (_EQUAL, 1, 0, 0), _refuse(errno.EPERM)


def _argument(place: int) -> Step:
    """The lower half of an argument, which is all that these calls look at."""
    return _LOAD, 0, 0, _ARGUMENTS + 8 * place


def _refuse(number: int) -> Step:
    return _RETURN, 0, 0, _ERRNO | number
