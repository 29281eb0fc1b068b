"""Settings for all tests."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

# no test is timed: a loaded machine must not turn a property red
settings.register_profile("bench", deadline=None)
settings.load_profile("bench")


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of the test's own: models that its user has added would join the panel."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("BENCHVOICE_HOME", str(home))
    return home
