"""What a profile is said to change."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal

import pytest

from benchvoice.commands.tune_tables import changes
from benchvoice.tuning.profile import StoredTake, VoiceProfile

Ended = Literal["right", "asked", "ignored", "wrong"]
MORE = "With this profile more is asked than without it. Leave it out if that is too much: benchvoice tune --reset anna"


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (("right", "right"), ("right", "asked"), [MORE]),
        (("wrong", "right"), ("asked", "right"), [MORE]),
        (("right", "asked"), ("asked", "right"), ["Nothing differs: this voice is heard like everybody's."]),
        (("right", "right"), ("right", "right"), ["Nothing differs: this voice is heard like everybody's."]),
    ],
)
def test_that_more_is_asked_is_said(before: tuple[Ended, ...], after: tuple[Ended, ...], told: list[str]) -> None:
    takes = tuple(
        StoredTake(prompt="p", above_noise_db=40.0, gap=0.1, heard={}, before=old, after=new)
        for old, new in zip(before, after, strict=True)
    )
    made = datetime(2026, 1, 1, tzinfo=UTC)
    assert changes(VoiceProfile(name="anna", made=made, version="1", engines={}, takes=takes)) == told
