"""What all tests share."""

from __future__ import annotations

import gc

import pytest
from hypothesis import settings

# Two cores are shared by everything that runs; a slow example is no fault of the code.
settings.register_profile("modrules", deadline=None)
settings.load_profile("modrules")

# What tests share is large and stays: looking through it again and again for what can be freed
# takes time and finds nothing.
gc.set_threshold(50_000, 20, 50)


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Compiled rulesets are kept in a folder of the tests' own."""
    patch = pytest.MonkeyPatch()
    patch.setenv("MODRULES_CACHE", str(tmp_path_factory.mktemp("cache")))
