"""Proofs come to the same whatever the process has proved before."""

from __future__ import annotations

import os
import subprocess
import sys

#: A pair of checks about dates and speeds, which a solver with a past has failed at.
ASKED = ("orrinmark", "tyre-speed")
BEFORE = (("touring", "gearing"), ("orrinmark", "tyre-age"))
PROGRAM = """
import sys
import modrules
from modrules.proofs.proving import prove

for each in sys.argv[1:]:
    name, check = each.split(":")
    said = prove(modrules.load_ruleset(name), [check])
print(said)
"""


def proved(seed: str, *asked: tuple[str, str]) -> str:
    """What the last of some proofs comes to in a process of its own, with all examples."""
    command = [sys.executable, "-c", PROGRAM, *(":".join(each) for each in asked)]
    env = {**os.environ, "PYTHONHASHSEED": seed}
    return subprocess.run(command, env=env, check=True, capture_output=True, text=True).stdout


def test_alone_and_after_others() -> None:
    alone = proved("1", ASKED)
    assert "asked=" in alone
    assert proved("2", *BEFORE, ASKED) == alone
