"""Work counted instead of timed, so that it is the same on every machine."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any


def calls_of(action: Callable[[], object]) -> int:
    """How many functions are called, those written in C with them."""
    count = 0

    def note(_frame: object, event: str, _argument: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        action()
    finally:
        sys.setprofile(before)
    return count


def steps_of(action: Callable[[], object]) -> int:
    """How many instructions of Python are run: loops count, which call nothing. Slow to count."""
    count = 0

    def note(frame: FrameType, event: str, _argument: object) -> Any:
        nonlocal count
        frame.f_trace_opcodes = True
        count += event == "opcode"
        return note

    before = sys.gettrace()
    sys.settrace(note)
    try:
        action()
    finally:
        sys.settrace(before)
    return count
