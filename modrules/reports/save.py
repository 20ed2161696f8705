"""Saving a report or a file of a ruleset: whole or not at all."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from pathlib import Path

from modrules.problems import ModrulesError, Place, Problem


def check_target(target: Path, inputs: Iterable[Path] = ()) -> list[Problem]:
    """Why a report cannot be saved as ``target``.

    ``inputs`` are the files that it must not replace, and folders in which it must replace none.
    """
    place = Place(str(target))
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        parent = target.parent
        if parent.is_dir():
            return []
        return [Problem(f"the folder {parent} does not exist", place, "make the folder first")]
    except (OSError, ValueError) as error:
        return [Problem(f"no file can be saved here: {_reason(error)}", place)]
    if stat.S_ISDIR(mode):
        return [Problem("this is a folder, and a file to save to is expected", place)]
    if not stat.S_ISREG(mode):
        hint = "leave --output out to see the report on the screen"
        return [Problem("this is no ordinary file", place, hint)]
    if any(_same(target, one) for one in inputs):
        return [Problem("the report would replace one of its own inputs", place)]
    return []


def save(content: str | bytes, target: Path) -> None:
    """Write ``content``, text as UTF-8, to ``target``, replacing a file that is there.

    It is written beside the target and then renamed, so that nobody ever sees half a report.
    Raises ModrulesError where that does not work; the target is then as it was.
    """
    final = Path(os.path.realpath(target))  # through a link: the file, not the link, is replaced
    draft = final.with_name(f".{final.name[:100]}.{os.getpid()}.part")
    try:
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        try:
            with open(handle, "wb") as file:
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
        message = f"this could not be saved: {_reason(error)}"
        raise ModrulesError(Problem(message, Place(str(target)))) from error


def _reason(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        return error.strerror[0].lower() + error.strerror[1:]
    return str(error)


def _same(one: Path, other: Path) -> bool:
    """Whether ``one`` is the file ``other``, or lies in the folder ``other``."""
    try:
        if other.is_dir():
            return one.resolve().is_relative_to(other.resolve())
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return False
