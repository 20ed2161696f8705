"""Being told to end (SIGTERM, SIGHUP): what was begun is cleaned up first, as after an error.

Left alone, Python ends at once: a browser that prints goes on, and the sheet stays behind.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final, NoReturn

_SIGNALS: Final = ("SIGTERM", "SIGHUP")


class Ended(BaseException):
    """A signal has told the program to end; no ``except Exception`` holds it up."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        #: as shells have it
        self.status = 128 + number


@contextmanager
def ended_by_signals() -> Iterator[None]:
    """Within it a signal to end raises Ended, once; what handled it before does so again after.

    Only the main thread can do that; in another one nothing changes. A signal that is ignored,
    as under nohup, stays ignored.
    """
    before: dict[int, Any] = {}

    def end(number: int, _: Any) -> NoReturn:
        for one in before:
            signal.signal(one, signal.SIG_IGN)  # the cleaning up is not to be broken off
        raise Ended(number)

    if threading.current_thread() is threading.main_thread():
        for name in _SIGNALS:
            number = getattr(signal, name, None)
            if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
                before[number] = signal.signal(number, end)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler if handler is not None else signal.SIG_DFL)
