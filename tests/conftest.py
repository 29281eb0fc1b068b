"""Settings for all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.sound_card import SoundCard, sound_card

# no test is timed: a loaded machine must not turn a property red
settings.register_profile("bench", deadline=None)
settings.load_profile("bench")


def pytest_xdist_auto_num_workers() -> int:
    """A worker more than there are processors: the one that has the sound card mostly waits for sound."""
    return len(os.sched_getaffinity(0)) + 1 if hasattr(os, "sched_getaffinity") else (os.cpu_count() or 1) + 1


@pytest.hookimpl(tryfirst=True)  # before the groups are read
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests with a sound card run one after the other, on one worker: sound goes by the clock, and needs its share."""
    for item in items:
        if "card" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.xdist_group("sound card"))


_PLACED = pytest.StashKey[bool]()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> None:
    """The largest group, that with the sound card, is handed out first: a worker that begins otherwise gives way."""
    if _PLACED in item.config.stash or "PYTEST_XDIST_WORKER" not in os.environ:
        return
    item.config.stash[_PLACED] = True
    if not item.get_closest_marker("xdist_group") and hasattr(os, "nice"):
        os.nice(5)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Two sound cards at once starve each other: they would fail by chance, so they fail at once and say why."""
    spread = getattr(item.config.option, "loadgroup", False) and "@" not in item.nodeid
    if spread and item.get_closest_marker("xdist_group"):
        pytest.fail(
            "pytest-xdist does not keep the tests with a sound card on one worker with this pytest: "
            "install the one that pyproject.toml asks for (pip install -e '.[test]')",
            pytrace=False,
        )


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of the test's own: models that its user has added would join the panel."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("BENCHVOICE_HOME", str(home))
    return home


@pytest.fixture(scope="module")
def card() -> Iterator[SoundCard]:
    """A sound card made of software, as this process's own; see `tests.sound_card`."""
    with sound_card() as made, pytest.MonkeyPatch.context() as patch:
        for name, value in made.environment.items():
            patch.setenv(name, value)
        yield made
