"""Settings for all tests."""

from __future__ import annotations

from hypothesis import settings

# no test is timed: a loaded machine must not turn a property red
settings.register_profile("bench", deadline=None)
settings.load_profile("bench")
