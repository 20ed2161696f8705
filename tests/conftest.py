"""What all tests share."""

from __future__ import annotations

import pytest
from hypothesis import settings

# Two cores are shared by everything that runs; a slow example is no fault of the code.
settings.register_profile("modrules", deadline=None)
settings.load_profile("modrules")


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Compiled rulesets are kept in a folder of the tests' own."""
    patch = pytest.MonkeyPatch()
    patch.setenv("MODRULES_CACHE", str(tmp_path_factory.mktemp("cache")))
