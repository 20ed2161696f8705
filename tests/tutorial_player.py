"""Plays the tutorial: writes its files, makes its changes, runs its commands.

    played(text, folder) -> str     the text, with what the commands really say

A block of YAML is the whole of the file that the line above it names; a block of differences
changes that file wherever the old lines stand; in a console block, ``$`` begins a command.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

from modrules import cli

TUTORIAL = Path(__file__).parent.parent / "rulesets" / "tutorial"
_BLOCK = re.compile(
    r"^(?P<above>[^\n]*)\n+```(?P<kind>yaml|diff|console)\n(?P<body>.*?)^```$", re.M | re.S
)


def played(text: str, folder: Path) -> str:
    """The tutorial with the outputs that its commands have in ``folder``, an empty folder."""
    for name in ("code.md", "amended.md"):
        shutil.copy(TUTORIAL / name, folder)
    parts: list[str] = []
    at = 0
    for found in _BLOCK.finditer(text):
        kind, body = found["kind"], found["body"]
        if kind == "console":
            parts += [text[at : found.start("body")], *_console(body, folder)]
            at = found.end("body")
            continue
        names = re.findall(r"`([^`]+)`", found["above"])
        file = folder / names[-1]
        if kind == "yaml":
            file.parent.mkdir(exist_ok=True)
            file.write_text(body)
        else:
            _change(file, body)
    return "".join([*parts, text[at:]])


def _change(file: Path, body: str) -> None:
    lines = body.splitlines()
    old = "".join(f"{line[1:]}\n" for line in lines if line.startswith("-"))
    new = "".join(f"{line[1:]}\n" for line in lines if line.startswith("+"))
    content = file.read_text()
    assert old, body
    assert old in content, (file, old)
    file.write_text(content.replace(old, new))


def _console(body: str, folder: Path) -> Iterator[str]:
    for line in body.splitlines():
        if line.startswith("$ "):
            yield f"{line}\n"
            yield _run(shlex.split(line[2:]), folder)


def _run(words: list[str], folder: Path) -> str:
    program, *arguments = words
    said = io.StringIO()
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(said),
    ):
        if program == "cp":
            source, target = arguments[-2:]
            copy = shutil.copytree if Path(source).is_dir() else shutil.copy
            copy(source, target)
        else:
            assert program == "modrules"
            assert cli.main(arguments) in (0, 1, 3), said.getvalue()
    return said.getvalue()
