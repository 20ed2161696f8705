"""Saving a report or a file of a ruleset: whole or not at all."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from pathlib import Path

from modrules.files import reason
from modrules.problems import ModrulesError, Place, Problem


def check_target(target: Path, inputs: Iterable[Path] = ()) -> list[Problem]:
    """Why a report cannot be saved as ``target``.

    ``inputs`` are the files that it must not replace, and folders in which it must replace none.
    """
    place = Place(str(target))
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        if target.parent.is_dir():
            return _closed(target)
        message = f"the folder {target.parent} does not exist"
        return [Problem(message, place, "make the folder first")]
    except (OSError, ValueError) as error:
        return [Problem(f"no file can be saved here: {reason(error)}", place)]
    if stat.S_ISDIR(mode):
        return [Problem("this is a folder, and a file to save to is expected", place)]
    if not stat.S_ISREG(mode):
        hint = "leave --output out to see the report on the screen"
        return [Problem("this is no ordinary file", place, hint)]
    if any(_same(target, one) for one in inputs):
        hint = "save to a new file"
        return [Problem("what is saved would replace one of its own inputs", place, hint)]
    return _closed(target) or _other_names(target)


def save(content: str | bytes, target: Path) -> None:
    """Write ``content``, text as UTF-8, to ``target``, replacing a file that is there.

    It is written beside the target and then renamed, so that nobody ever sees half a report;
    who may read and write the file stays as it is. Raises ModrulesError where that does not
    work, or where the file has other names; the target is then as it was.
    """
    final = Path(os.path.realpath(target))  # through a link: the file, not the link, is replaced
    draft = final.with_name(f".{final.name[:100]}.{os.getpid()}.part")
    problems = _other_names(final)
    if problems:
        raise ModrulesError(problems)
    try:
        mode = stat.S_IMODE(final.stat().st_mode) if final.exists() else None
        first = 0o666 if mode is None else 0o600
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, first)
        try:
            with open(handle, "wb") as file:
                if mode is not None:
                    draft.chmod(mode & 0o777)
                file.write(
                    content if isinstance(content, bytes) else content.encode("utf-8", "replace")
                )
                file.flush()
                os.fsync(file.fileno())
            os.replace(draft, final)
        except BaseException:
            draft.unlink(missing_ok=True)
            raise
    except OSError as error:
        message = f"this could not be saved: {reason(error)}"
        raise ModrulesError(Problem(message, Place(str(target)))) from error


def _closed(target: Path) -> list[Problem]:
    """Why nothing can be saved in the folder of a file, be the file there or not."""
    folder = Path(os.path.realpath(target)).parent
    if os.access(folder, os.W_OK | os.X_OK, effective_ids=os.access in os.supports_effective_ids):
        return []
    return [Problem(f"nothing can be saved in the folder {folder}", Place(str(target)))]


def _other_names(target: Path) -> list[Problem]:
    """Why a file can't be replaced that has other names (hard links): they would keep the old."""
    try:
        names = target.stat().st_nlink
    except OSError:
        return []
    if names < 2:
        return []
    message = f"this file has {names} names (hard links), and would be replaced under this one only"
    return [Problem(message, Place(str(target)), "save to a new file, or take the link apart")]


def _same(one: Path, other: Path) -> bool:
    """Whether ``one`` is the file ``other``, or lies in the folder ``other``."""
    try:
        if other.is_dir():
            return one.resolve().is_relative_to(other.resolve())
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return False
