"""Plays the tutorial: writes its files, makes its changes, runs its commands.

    played(text, folder) -> str     the text, with what the commands really say

A block of YAML is the whole of the file that the line above it names last; or, where that line
says so, it is added at the end of the file, or comes in the place of the items that it names, with
their comments. A block of differences holds changes, with empty lines between them; each changes
the file wherever its old lines stand, those that stay (after a blank) included. In a console block,
``$`` begins a command.
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
        names = re.findall(r"`([^`]+)`", found["above"].rpartition("in the place of")[2])
        file = folder / names[-1]
        if kind == "diff":
            for change in body.split("\n\n"):
                _change(file, change)
        elif "in the place of" in found["above"]:
            file.write_text(_replaced(file.read_text(), names[0], names[-2], body))
        elif "at the end of" in found["above"]:
            file.write_text(f"{file.read_text().rstrip()}\n\n{body}")
        else:
            file.parent.mkdir(exist_ok=True)
            file.write_text(body)
    return "".join([*parts, text[at:]])


def _change(file: Path, body: str) -> None:
    lines = body.splitlines()
    old = "".join(f"{line[1:]}\n" for line in lines if line[0] in "- ")
    new = "".join(f"{line[1:]}\n" for line in lines if line[0] in "+ ")
    content = file.read_text()
    assert old, body
    assert old != new, body
    assert old in content, (file, old)
    file.write_text(content.replace(old, new))


def _replaced(content: str, first: str, last: str, body: str) -> str:
    """A file with other items in the place of those from ``first`` to ``last``."""
    lines = content.splitlines(keepends=True)
    start = lines.index(f"  - id: {first}\n")
    end = lines.index(f"  - id: {last}\n", start) + 1
    while lines[start - 1].startswith("  #"):
        start -= 1
    while end < len(lines) and lines[end].strip():
        end += 1
    return "".join([*lines[:start], body, *lines[end:]])


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
