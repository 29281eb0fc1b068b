"""Where a sound server leads a stream, and where it must not."""

from __future__ import annotations

import os

import pytest

from benchvoice.devices.routing import Kind, Place, Route, look, misplaced, opening_at, strays

MIC = Place("mic", "Desk microphone", 1, False, True)
OTHER = Place("lid", "Lid microphone", 1, False, False)
MONITOR = Place("box.monitor", "Monitor of Box", 1, True, False)
NOWHERE = Place("auto_null", "Dummy Output", 2, True, False)


def route(place: Place | None, *present: Place) -> Route:
    return Route(place, False, frozenset(each.name for each in present))


@pytest.mark.parametrize(
    ("seen", "home", "kind", "why"),
    [
        (None, "mic", "input", ""),
        (route(None, MIC), "mic", "input", ""),
        (route(MIC, MIC), "", "input", ""),
        (route(MIC, MIC), "mic", "input", ""),
        (route(OTHER, MIC, OTHER), "mic", "input", ""),  # the user moved it
        (route(OTHER, OTHER), "mic", "input", "it is gone, and 'Lid microphone' came in its place"),
        (route(MONITOR, MONITOR), "mic", "input", "it is gone"),
        (route(MONITOR, MONITOR, MIC), "mic", "input", "it is gone"),
        (route(MONITOR, MONITOR), "", "input", "there is no microphone, only 'Monitor of Box'"),
        (route(NOWHERE, NOWHERE), "", "output", "there is no loudspeaker, only 'Dummy Output'"),
    ],
)
def test_misplaced(seen: Route | None, home: str, kind: Kind, why: str) -> None:
    assert misplaced(seen, home, kind) == why


@pytest.mark.parametrize(
    ("seen", "home", "known", "strayed"),
    [
        (Route(OTHER, False, frozenset(["mic", "lid"]), 8), "mic", None, True),  # just opened
        (Route(OTHER, False, frozenset(["mic", "lid"]), 8), "mic", 7, True),  # made anew after a gap
        (Route(OTHER, False, frozenset(["mic", "lid"]), 7), "mic", 7, False),  # the user moved it
        (Route(MIC, False, frozenset(["mic", "lid"]), 8), "mic", 7, False),
        (Route(OTHER, False, frozenset(["lid"]), 8), "mic", 7, False),  # its device is gone: it is misplaced
        (Route(OTHER, False, frozenset(["mic", "lid"]), 8), "", None, False),
        (Route(None, False, frozenset(["mic"])), "mic", 7, False),
        (None, "mic", 7, False),
    ],
)
def test_strays(seen: Route | None, home: str, known: int | None, strayed: bool) -> None:
    assert strays(seen, home, known) is strayed


@pytest.mark.parametrize("before", [None, "the user's own"])
def test_the_wish_for_a_device_lasts_only_while_it_is_opened(
    before: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PULSE_SINK", raising=False)
    if before is not None:
        monkeypatch.setenv("PULSE_SINK", before)
    with opening_at("output", ""):
        assert os.environ.get("PULSE_SINK") == before
    with opening_at("output", "bench"):
        assert os.environ["PULSE_SINK"] == "bench"
    assert os.environ.get("PULSE_SINK") == before


def test_without_a_server_there_is_no_route(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path_factory.mktemp('none')}/native")
    route = look("input", 5.0)
    assert route is None or route.place is None
