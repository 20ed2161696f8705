"""Without the rights of a superuser, to whom no file is closed."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_NOBODY = 65534


@contextmanager
def unprivileged(folder: Path) -> Iterator[None]:
    """Within it, files in ``folder`` are closed to this process if their mode says so."""
    if os.geteuid() != 0:
        yield
        return
    opened = []
    for each in (folder, *folder.parents):
        mode = each.stat().st_mode
        if not mode & 0o001:
            opened.append((each, mode))
            each.chmod(mode | 0o055)
    os.seteuid(_NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        for each, mode in opened:
            each.chmod(mode)
