"""Where rulesets and their files are.

    shipped_folder() -> Path              the folder of the shipped rulesets
    shipped_ids() -> list[str]            their ids
    find_ruleset(name_or_path) -> Path    the folder of a ruleset: a folder, or a shipped id
    inside(folder, name, place, what) -> Path     a path that stays within a folder
    edition_in(folder, name, place) -> Path       the same, of an edition
    data_files(folder, name) -> Listed    the YAML and JSON files in one of its subfolders

What a ruleset names, and what lies in its folder, is never read from outside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from modrules.files import members
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


def edition_in(folder: Path, name: str, place: Place) -> Path:
    """The folder of an edition that a ruleset lists; refused where it is the ruleset's own."""
    path = inside(folder, name, place, "the edition")
    if path.resolve() == folder.resolve():
        hint = "the edition that stands there is always one; name the folders of the others"
        raise ModrulesError(
            Problem(f"the edition `{name}` is the folder of the ruleset itself", place, hint)
        )
    return path


@dataclass(frozen=True, slots=True)
class Listed:
    """The data files in a folder, those refused, and what else lies there but hidden files."""

    files: tuple[Path, ...] = ()
    refused: tuple[tuple[Path, Problem], ...] = ()
    passed_over: tuple[Path, ...] = ()

    @property
    def problems(self) -> list[Problem]:
        return [problem for _, problem in self.refused]


def is_data_file(path: Path) -> bool:
    """Whether a file's name says that it holds YAML or JSON."""
    return path.suffix.lower() in (".yaml", ".yml", ".json")


def data_files(folder: Path, name: str = "") -> Listed:
    """The YAML and JSON files in ``folder``, or in its subfolder ``name`` if it has one.

    By name; folders inside are passed over, and a file that is a link out of ``folder`` is
    refused. ModrulesError where the folder can't be read.
    """
    within = folder
    if name:
        within = inside(folder, name, Place(str(folder / name)), "the folder")
        if within not in members(folder):
            return Listed()
    files, refused, others = [], [], []
    for path in members(within):
        if path.name.startswith("."):
            continue
        if not is_data_file(path) or path.is_dir():
            others.append(path)
            continue
        try:
            inside(folder, path.relative_to(folder).as_posix(), Place(str(path)), "the file")
            files.append(path)
        except ModrulesError as error:
            refused.append((path, error.problems[0]))
    return Listed(tuple(files), tuple(refused), tuple(others))
