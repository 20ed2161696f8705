"""Calendar arithmetic on days counted as ordinals."""

from __future__ import annotations

import calendar
import datetime
from functools import lru_cache


@lru_cache(maxsize=4096)
def add_months(ordinal: int, months: int) -> int:
    """The day so many calendar months later; the last day of the month where there is no such day.

    Outside the years 1 to 9999 the first or last day of these stands for all others, so that
    a date that is not known still has a value when a period is added to it.
    """
    day = datetime.date.fromordinal(ordinal)
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        return (datetime.date.min if year < 1 else datetime.date.max).toordinal()
    last = calendar.monthrange(year, month + 1)[1]
    return datetime.date(year, month + 1, min(day.day, last)).toordinal()
