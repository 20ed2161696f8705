"""Shipped rulesets, loaded once a process: a ruleset never changes, so that tests share it.

For tests of something else than loading.
"""

from __future__ import annotations

from functools import cache

import modrules

load_ruleset = cache(modrules.load_ruleset)
