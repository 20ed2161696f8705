"""Reading files that others name: only ordinary ones, and no more than was agreed on.

    read_bytes(path, most, name="", split="") -> bytes
    is_file(path) -> bool
    is_folder(path) -> bool
    members(folder) -> list[Path]

A pipe or a device could keep the reader for ever or fill the memory, so neither is opened.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Final

from modrules.problems import ModrulesError, Place, Problem

#: Opening what became a pipe just before must not wait for a writer.
_FLAGS: Final = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
STANDARD_STREAM: Final = "-"


def read_bytes(path: Path, most: int, *, name: str = "", split: str = "") -> bytes:
    """What an ordinary file of at most ``most`` bytes holds; places call it ``name``.

    ModrulesError where there is no such file, where it is none of the ordinary ones, too
    large (``split`` says what to do then) or can't be read.
    """
    place = Place(name or str(path))
    if str(path) == STANDARD_STREAM:
        hint = "save it to a file and name that; a file of this very name is ./-"
        raise ModrulesError(Problem("the standard input is not read", place, hint))
    try:
        _refuse_others(path.stat(), place)
        with os.fdopen(os.open(path, _FLAGS), "rb") as file:
            # Looked at again, since another file may have taken its place.
            told = os.fstat(file.fileno())
            _refuse_others(told, place)
            # One byte more than may be there: the file may still be growing.
            data = file.read(most + 1) if told.st_size <= most else None
    except FileNotFoundError:
        raise ModrulesError(Problem("there is no such file", place)) from None
    except (OSError, ValueError) as error:
        raise ModrulesError(Problem(f"the file cannot be read: {reason(error)}", place)) from None
    if data is None or len(data) > most:
        message = f"the file is larger than {most / 1_000_000:g} MB, the most that is read"
        raise ModrulesError(Problem(message, place, split))
    return data


def is_file(path: Path) -> bool:
    """Whether there is an ordinary file; ModrulesError where it can't be found out."""
    try:
        return path.is_file()
    except OSError as error:
        message = f"the file cannot be looked for: {reason(error)}"
        raise ModrulesError(Problem(message, Place(str(path)))) from None


def is_folder(path: Path) -> bool:
    """Whether there is a folder; ModrulesError where it can't be found out."""
    try:
        return path.is_dir()
    except OSError as error:
        message = f"the folder cannot be looked for: {reason(error)}"
        raise ModrulesError(Problem(message, Place(str(path)))) from None


def members(folder: Path) -> list[Path]:
    """What lies in a folder, by name; ModrulesError where that can't be found out."""
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        message = f"the folder cannot be read: {reason(error)}"
        raise ModrulesError(Problem(message, Place(str(folder)))) from None


def reason(error: Exception) -> str:
    """Why the system refused, as the end of a sentence."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror[0].lower() + error.strerror[1:]
    return str(error)


def _refuse_others(found: os.stat_result, place: Place) -> None:
    if stat.S_ISDIR(found.st_mode):
        message = "this is a folder, and a file is expected here"
        raise ModrulesError(Problem(message, place, "name a file in it"))
    if not stat.S_ISREG(found.st_mode):
        raise ModrulesError(Problem("this is not an ordinary file", place))
