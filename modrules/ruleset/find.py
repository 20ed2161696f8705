"""Where rulesets and their files are.

    shipped_folder() -> Path              the folder of the shipped rulesets
    shipped_ids() -> list[str]            their ids
    find_ruleset(name_or_path) -> Path    the folder of a ruleset: a folder, or a shipped id
    inside(folder, name, place, what) -> Path     a path that stays within a folder

What a ruleset names is never read from outside its folder.
"""

from __future__ import annotations

from pathlib import Path, PurePosixPath, PureWindowsPath

from modrules.problems import ModrulesError, Place, Problem, nearest

#: The file that makes a folder a ruleset.
HEAD_FILE = "ruleset.yaml"


def shipped_folder() -> Path:
    """The folder of the shipped rulesets: beside the package, or inside it in a wheel."""
    package = Path(__file__).resolve().parent.parent
    checkout = package.parent / "rulesets"
    # A checkout is known by its project file: beside an installed package, a folder of that name
    # is somebody else's.
    if (package.parent / "pyproject.toml").is_file() and checkout.is_dir():
        return checkout
    return package / "shipped" / "rulesets"


def shipped_ids() -> list[str]:
    """The ids of the shipped rulesets, in order of the alphabet."""
    folder = shipped_folder()
    if not folder.is_dir():
        return []
    return sorted(each.name for each in folder.iterdir() if (each / HEAD_FILE).is_file())


def find_ruleset(name_or_path: str | Path) -> Path:
    """The folder of a ruleset; a folder that holds one comes before a shipped id of that name.

    ModrulesError where there is none.
    """
    name = str(name_or_path)
    try:
        path = Path(name_or_path)
        if (path / HEAD_FILE).is_file():
            return path
        if name in shipped_ids():
            return shipped_folder() / name
        exists, is_folder = path.exists(), path.is_dir()
    except (OSError, ValueError):
        exists = is_folder = False
    if is_folder:
        message = f"this folder holds no ruleset: it has no {HEAD_FILE}"
    elif exists:
        message = f"this is a file, and the folder of a ruleset is expected (with a {HEAD_FILE})"
    else:
        message = "there is no ruleset of this name: no such folder, and no shipped one"
    shipped = shipped_ids()
    hint = nearest(name, shipped) or f"shipped are: {', '.join(shipped) or 'none'}"
    raise ModrulesError(Problem(message, Place(name or '""'), hint))


def inside(folder: Path, name: str, place: Place, what: str) -> Path:
    """``folder / name``, refused where it leads out of the folder, be it by a symbolic link.

    ``what`` says what the name is for, at the beginning of a sentence ("the file").
    """
    # Rulesets travel between systems, so that a path of either kind must be refused on both.
    windows = PureWindowsPath(name)
    absolute = PurePosixPath(name).is_absolute() or windows.is_absolute() or windows.drive
    if absolute or windows.root or "\\" in name or ".." in windows.parts or "\0" in name:
        raise ModrulesError(
            Problem(
                f"{what} `{name}` must be a path inside the folder of the ruleset",
                place,
                "write it relative to that folder, with / and without ..",
            )
        )
    path = folder / name
    try:
        stays = path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        stays = False
    if not stays:
        raise ModrulesError(
            Problem(
                f"{what} `{name}` leads out of the folder of the ruleset by a link",
                place,
                "put the file itself into the folder",
            )
        )
    return path
