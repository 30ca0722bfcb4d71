"""A folder or a zip of files from a learning platform, opened without being trusted."""
from __future__ import annotations

import datetime
import io
import os
import stat
import struct
import zipfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath

from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    read_file,
)
from acidbase_lib.classroom.phrases import printable

from .roster import LONGEST_NAME, IntakeError

MOST_FILES = 20_000  # entries of one zip or folder
MOST_FOLDERS = 40  # folders in one another: more make a path that no system opens
_DEBRIS = frozenset({"__macosx", ".ds_store", "thumbs.db", "desktop.ini", ".ipynb_checkpoints",
                     ".spotlight-v100", ".trashes", ".fseventsd", ".appledouble", "@eadir",
                     "$recycle.bin", "system volume information", ".git", "icon\r", "ehthumbs.db",
                     "lost+found"})
_DEBRIS_BEGINS = ("._", "~$", ".~lock.")  # a Mac's twin, an office program's lock
_OTHER_WAYS = {9: "deflate64", zipfile.ZIP_LZMA: "LZMA", 93: "zstandard", 95: "xz", 98: "PPMd"}
_PACKED = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2})


@dataclass(frozen=True, slots=True)
class Offered:
    """One file of the bundle: how to read it, or why it cannot be taken.

    ``name`` is safe to print; no two files of a bundle have the same one. ``written`` is the
    file's own time, in the time of the computer that wrote it; None where it has none.
    """

    name: str
    read: Callable[[], bytes]
    why_not: str = ""
    debris: bool = False
    written: datetime.datetime | None = None


@contextmanager
def opened(bundle: str | Path, limits: FileLimits = LIMITS) -> Iterator[list[Offered]]:
    """Open a folder or a zip; links and paths that lead elsewhere are not followed.

    Raises
    ------
    IntakeError
        If the bundle is neither, or holds too many files.
    """
    bundle = Path(bundle)
    if bundle.is_dir():
        yield _each_named_once([
            Offered(name, partial(read_file, path, limits), why or _not_wanted(name),
                    _is_debris(name), _mtime(path)) for name, path, why in _found(bundle)])
        return
    with ExitStack() as open_files:
        try:
            file = open_files.enter_context(_Listing(io.FileIO(bundle)))
            archive = open_files.enter_context(zipfile.ZipFile(file))
        except (OSError, zipfile.BadZipFile, ValueError, struct.error,
                NotImplementedError) as error:
            raise IntakeError(f"{bundle} is neither a folder nor a zip file ({error}).") from None
        file.listing = False
        entries = [entry for entry in archive.infolist() if not entry.filename.endswith("/")]
        _not_too_many(len(entries), bundle)
        yield _each_named_once([
            Offered(entry.filename, partial(_unpacked, archive, entry, limits),
                    _not_safe(entry) or _not_wanted(entry.filename), _is_debris(entry.filename),
                    _entry_time(entry))
            for entry in entries])


def _found(bundle: Path) -> Iterator[tuple[str, Path, str]]:
    """Yield a folder's files in order; a folder that is too deep, or closed, is one of them."""
    count, to_do = 0, [(bundle, 0)]
    while to_do:
        folder, depth = to_do.pop()
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError as error:
            yield str(folder.relative_to(bundle)), folder, (
                f"the folder cannot be opened ({error.strerror})")
            continue
        count += len(entries)
        _not_too_many(count, bundle)
        inner = []
        for entry in entries:
            path = folder / entry.name
            if not entry.is_dir(follow_symlinks=False):
                yield path.relative_to(bundle).as_posix(), path, ""
            elif depth < MOST_FOLDERS:
                inner.append((path, depth + 1))
            else:
                yield path.relative_to(bundle).as_posix(), path, (
                    f"it lies more than {MOST_FOLDERS} folders deep")
        to_do += reversed(inner)


def _each_named_once(files: list[Offered]) -> list[Offered]:
    """Give each file a name that can be printed, and the second of one name a number."""
    seen: dict[str, int] = {}
    named = []
    for one in files:
        name, why_not = printable(one.name), one.why_not
        if len(name) > LONGEST_NAME:
            name = f"{name[:200]} ..."
            why_not = f"its name is longer than {LONGEST_NAME:,} characters"
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            name = f"{name} (the {seen[name]}. of that name)"
        named.append(Offered(name, one.read, why_not, one.debris, one.written))
    return named


def _mtime(path: Path) -> datetime.datetime | None:
    try:
        return datetime.datetime.fromtimestamp(path.lstat().st_mtime)
    except (OSError, ValueError, OverflowError):
        return None


def _entry_time(entry: zipfile.ZipInfo) -> datetime.datetime | None:
    """An entry's time; one that was never set is 1980."""
    try:
        return datetime.datetime(*entry.date_time) if entry.date_time[0] > 1980 else None
    except ValueError:
        return None


def _is_debris(name: str) -> bool:
    """True for what an operating system or Jupyter leaves beside files, such as ``__MACOSX``."""
    parts = PurePosixPath(name.replace("\\", "/")).parts
    return any(part.casefold() in _DEBRIS or part.startswith(_DEBRIS_BEGINS) for part in parts)


def _not_safe(entry: zipfile.ZipInfo) -> str:
    parts = PurePosixPath(entry.filename.replace("\\", "/")).parts
    if not parts:
        return "it has no name"
    if parts[0] == "/" or ".." in parts or ":" in parts[0]:
        return "its path leads out of the zip"
    if stat.S_ISLNK(entry.external_attr >> 16):
        return "it is a link, not a file"
    if entry.compress_type not in _PACKED:
        return ("it is packed in a way that is not read here "
                f"({_OTHER_WAYS.get(entry.compress_type, 'an unknown one')}); make an ordinary zip")
    return "it is locked with a password" if entry.flag_bits & 1 else ""


def _not_wanted(name: str) -> str:
    return "" if name.casefold().endswith(".ipynb") else "not a notebook (.ipynb)"


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limits: FileLimits) -> bytes:
    """Unpack one file, counting as it comes: the size told in a zip may be a lie."""
    try:
        with archive.open(entry) as file:
            data = file.read(limits.size + 1)
    except Exception as error:  # whatever the unpacker makes of a damaged entry, it is this one's
        why = printable(str(error))[:200] or type(error).__name__
        raise UnreadableNotebookError(f"it is damaged inside the zip ({why})") from None
    if len(data) > limits.size:
        raise UnreadableNotebookError(
            f"it is larger than {limits.size / 1e6:,.0f} MB when unpacked")
    if not data.strip():
        raise UnreadableNotebookError("it is empty")
    return data


class _Listing(io.BufferedReader):
    """A zip's bytes; one odd name or note in its list of files does not close the whole zip."""

    listing = True

    def read(self, size: int | None = -1, /) -> bytes:
        """Read on; the list of files, which is read in one piece, is put right."""
        data = super().read(size)
        return _mended(data) if self.listing and data.startswith(b"PK\1\2") else data


def _mended(listed: bytes) -> bytes:
    """A zip's list of files, in which names flagged as UTF-8 are, and notes have their lengths."""
    zip_ = bytearray(listed)
    place = 0
    while zip_[place:place + 4] == b"PK\1\2" and place + 46 <= len(zip_):
        flags, = struct.unpack_from("<H", zip_, place + 8)
        name, extra, comment = struct.unpack_from("<HHH", zip_, place + 28)
        if flags & 0x800 and not _is_utf8(zip_[place + 46:place + 46 + name]):
            struct.pack_into("<H", zip_, place + 8, flags & ~0x800)
        note = place + 46 + name
        if extra >= 4 and not _is_whole(zip_[note:note + extra]):
            struct.pack_into("<HH", zip_, note, 0xFFFF, extra - 4)  # a note that nobody reads
        place = note + extra + comment
    return bytes(zip_)


def _is_utf8(name: bytearray) -> bool:
    try:
        name.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _is_whole(extra: bytearray) -> bool:
    place = 0
    while place + 4 <= len(extra):
        place += 4 + struct.unpack_from("<H", extra, place + 2)[0]
    return place == len(extra)


def _not_too_many(count: int, bundle: Path) -> None:
    if count > MOST_FILES:
        raise IntakeError(f"{bundle} holds {count:,} files; at most {MOST_FILES:,} are read.")
