"""Files and folders written whole or not at all: a stop at any moment leaves the old or the new."""
from __future__ import annotations

import errno
import os
import shutil
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

DEEPEST = 4  # folders in one another that hold files of ours
ABANDONED = 3600.0  # [s] a draft older than this is nobody's, whichever machine began it


class UnwrittenError(RuntimeError):
    """A file could not be written; the text says why and what to do."""


def write_whole(path: str | Path, data: bytes | str, encoding: str = "utf-8", *,
                durable: bool = True) -> Path:
    """Write a file through a neighbor that is then renamed; make its folder where there is none.

    Parameters
    ----------
    path : str or Path
        The file.
    data : bytes or str
        All that it is to hold.
    encoding : str
        Of a text.
    durable : bool
        Wait until the disk has it, so that it outlives a lost power as well. False for what the
        same command makes again from what is kept.

    Raises
    ------
    UnwrittenError
        If there is no room or no right to write; the old file is still there then.
    """
    path = Path(path)
    body = data.encode(encoding) if isinstance(data, str) else data
    draft = _draft_of(path)
    with _naming_the_file(path):
        made = _make_folder(path.parent)
        if durable:
            heal(path)  # not for each of thousands of pages: it looks through the folder
        try:
            with open(draft, "wb") as file:
                file.write(body)
                if durable:
                    file.flush()
                    os.fsync(file.fileno())
            os.replace(draft, path)
        finally:
            draft.unlink(missing_ok=True)
        if durable:
            for folder in (path.parent, *made):
                _sync_folder(folder)
    return path


def copy_whole(source: Path, target: Path) -> Path:
    """Copy a file whole or not at all."""
    return write_whole(target, source.read_bytes())


def replace_folder(new: Path, target: Path) -> Path:
    """Put a copy of a folder in the place of another, which is there whole until the copy is.

    Between the two renames there is no folder of that name: ``heal`` puts the old one back.

    Raises
    ------
    UnwrittenError
        If there is no room or no right to write; the old folder is still there then.
    """
    draft, aside = _draft_of(target), _aside_of(target)
    with _naming_the_file(target):
        _make_folder(target.parent)
        heal(target)
        try:
            shutil.copytree(new, draft)
            for folder, _, names in os.walk(draft):
                for name in names:
                    _sync_file(Path(folder, name))
                _sync_folder(Path(folder))
            if os.path.lexists(target):
                os.rename(target, aside)
            os.rename(draft, target)
        except OSError:
            heal(target)
            raise
        finally:
            shutil.rmtree(draft, ignore_errors=True)
        _sync_folder(target.parent)
        _remove(aside)
    return target


def heal(target: Path) -> None:
    """Put right what a run that was stopped left of a folder, or beside a file."""
    aside = _aside_of(target)
    if os.path.lexists(aside):
        if os.path.lexists(target):
            _remove(aside)
        else:
            os.rename(aside, target)
    _drop(target.parent.glob(f".{_plain(target.name)}.*.part"))


def drop_drafts(folder: Path) -> None:
    """Take away what runs that were stopped left anywhere in a folder; not what is being written.

    Links are not followed, nor folders deeper than any of ours.
    """
    to_do = [(folder, 0)]
    while to_do:
        place, depth = to_do.pop()
        try:
            there = list(os.scandir(place))
        except OSError:
            continue  # none there, or none of ours
        for entry in there:
            if entry.name.startswith(".") and entry.name.endswith(".part"):
                _drop([Path(entry)])
            elif depth < DEEPEST and entry.is_dir(follow_symlinks=False):
                to_do.append((Path(entry), depth + 1))


def _drop(drafts: Iterable[Path]) -> None:
    for draft in drafts:
        if not _is_abandoned(draft):
            continue
        _remove(draft)


def _remove(path: Path) -> None:
    """Take away a folder, a file, or a link: never what a link leads to."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


def _is_abandoned(draft: Path) -> bool:
    """True where the process that began a draft has ended, or it is old."""
    number = draft.name.removesuffix(".part").rpartition(".")[2]
    if not number.isdecimal() or len(number) > 10:
        return False  # none of ours
    try:
        old = time.time() - draft.lstat().st_mtime > ABANDONED
    except OSError:
        return False
    return old or int(number) == os.getpid() or not _is_running(int(number))


def _is_running(process: int) -> bool:
    if os.name == "nt":
        return True  # there a signal of 0 would end it; age decides
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _draft_of(path: Path) -> Path:
    # a name may be as long as the file system takes: the draft's may not be longer
    return path.with_name(f".{_plain(path.name)}.{os.getpid()}.part")


def _aside_of(target: Path) -> Path:
    return target.with_name(f".{_plain(target.name)}.before")


def _plain(name: str) -> str:
    """A file's name as it stands in its draft's: short, and nothing in it that a search reads."""
    return "".join(c if c.isalnum() or c in "._- " else "_" for c in name)[:100]


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and those above it; return where a new name now stands."""
    made = []
    above = folder
    while not above.exists() and above != above.parent:
        above = above.parent
        made.append(above)
    folder.mkdir(parents=True, exist_ok=True)
    return made


def _sync_file(path: Path) -> None:
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Wait until the disk knows a folder's names, where the system can say so."""
    if not hasattr(os, "O_DIRECTORY"):
        return  # such as Windows, which keeps names safe by itself
    try:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EIO, errno.EDQUOT}:
            raise  # some file systems know no such call (EINVAL); these know that it failed
    finally:
        os.close(handle)


@contextmanager
def _naming_the_file(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        full = (error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
                or os.strerror(errno.ENOSPC) in str(error))  # a folder's copy tells it in a list
        hint = ("make room" if full else "see that the place may be written to")
        raise UnwrittenError(
            f"{path} could not be written ({_reason(error)}): {hint}, "
            "and run this again. What is kept so far is safe.") from error


def _reason(error: OSError) -> str:
    """The system's own words; of the many that the copy of a folder collects, the first."""
    if isinstance(error, shutil.Error) and error.args and isinstance(error.args[0], list):
        return str(error.args[0][0][-1]).rpartition("] ")[2]
    return error.strerror or str(error)
