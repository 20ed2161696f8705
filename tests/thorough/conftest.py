"""The laws are tried from here too, on an engine with faults planted in it."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "laws"))
