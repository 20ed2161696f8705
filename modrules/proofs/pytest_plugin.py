"""Worked cases as pytest items, in a repository of a ruleset's author.

Every YAML or JSON file in ``cases`` beside a ``ruleset.yaml`` is collected; each case in it is one
item. With the package installed nothing has to be set up: ``pytest my-ruleset``. Leave it out
with ``-p no:modrules``.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from modrules.problems import ModrulesError, Place
from modrules.ruleset.find import inside, is_data_file

if TYPE_CHECKING:
    from modrules.proofs.cases import Case
    from modrules.screening.prepared import Ruleset

_RULESETS: pytest.StashKey[dict[Path, Any]] = pytest.StashKey()


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """The file as one of worked cases; None where it is none."""
    folder = file_path.parent
    if folder.name != "cases" or not is_data_file(file_path):
        return None
    if not (folder.parent / "ruleset.yaml").is_file():
        return None
    found: CaseFile = CaseFile.from_parent(parent, path=file_path)
    return found


class CaseFile(pytest.File):
    """A file of worked cases."""

    def collect(self) -> Iterator[pytest.Item]:
        """One item for each case, and one that fails if the file is not right."""
        from modrules.proofs.cases import read_case_file

        folder = self.path.parent
        try:
            inside(
                folder.parent, f"{folder.name}/{self.path.name}", Place(str(self.path)), "the file"
            )
            cases, problems = read_case_file(self.path)
        except ModrulesError as error:
            cases, problems = [], list(error.problems)
        if problems:
            yield CaseItem.from_parent(self, name="the file", case=None, problems=problems)
        for case in cases:
            yield CaseItem.from_parent(self, name=case.title, case=case, problems=[])

    def ruleset(self) -> Ruleset:
        """The ruleset beside the cases, prepared once in a session."""
        from modrules.ruleset.load import read_folder
        from modrules.screening.prepared import prepare

        known = self.session.stash.setdefault(_RULESETS, {})
        folder = self.path.parent.parent
        if folder not in known:
            known[folder] = prepare(read_folder(folder))
        ruleset: Ruleset = known[folder]
        return ruleset


class CaseItem(pytest.Item):
    """One worked case."""

    def __init__(self, *, case: Case | None, problems: list[Any], **more: Any) -> None:
        super().__init__(**more)
        self.case = case
        self.problems = problems

    def runtest(self) -> None:
        """Fails with the problem of the case, if there is one."""
        from modrules.proofs.cases import run_case

        problems = list(self.problems)
        if self.case is not None:
            assert isinstance(self.parent, CaseFile)
            problem = run_case(self.parent.ruleset(), self.case).problem
            problems += [problem] if problem is not None else []
        if problems:
            raise ModrulesError(problems)

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], *_: Any) -> str:
        """The problem in words, without a traceback; anything else as pytest has it."""
        if isinstance(excinfo.value, ModrulesError):
            return str(excinfo.value)
        return str(super().repr_failure(excinfo))

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Where the case stands."""
        line = self.case.place.line - 1 if self.case is not None else None
        return self.path, line, self.name
