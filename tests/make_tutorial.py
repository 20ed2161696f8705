"""Writes into rulesets/tutorial/tutorial.md what its commands say now; read the difference."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tutorial_player import TUTORIAL, played

if __name__ == "__main__":
    file = TUTORIAL / "tutorial.md"
    with tempfile.TemporaryDirectory() as folder:
        file.write_text(played(file.read_text(encoding="utf-8"), Path(folder)), encoding="utf-8")
