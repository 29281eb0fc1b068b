"""Devices by name, by part of a name and by number; complaints that name the candidates and the cure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.devices.listing import Device, again, choose, devices, opening_failed
from benchvoice.devices.routing import Kind
from benchvoice.errors import DeviceError
from tests.sound_card import SoundCard

HEADSET = Device(0, 0, "", "Headset (hw:1,0)", "ALSA", 1, 2, 48_000, False, False)
DESK = Device(1, 1, "", "Desk microphone (hw:2,0)", "ALSA", 1, 0, 44_100, True, False)
BOX = Device(2, 2, "", "Box (hw:0,0)", "ALSA", 0, 2, 48_000, False, True)
ALL = [HEADSET, DESK, BOX]


@pytest.mark.parametrize(
    ("wanted", "kind", "found"),
    [
        (None, "input", DESK),
        (None, "output", BOX),
        ("headset", "input", HEADSET),
        ("HEADSET", "output", HEADSET),
        ("Desk microphone (hw:2,0)", "input", DESK),
        ("0", "output", HEADSET),
        (2, "output", BOX),
    ],
)
def test_the_one_that_is_meant(wanted: str | int | None, kind: Kind, found: Device) -> None:
    assert choose(ALL, wanted, kind) is found


@pytest.mark.parametrize(
    ("listed", "wanted", "kind", "complaint"),
    [
        (ALL, "e", "input", r"'e' can mean several microphones: 0 Headset .*; 1 Desk .* Give more of the name"),
        (ALL, "loom", "output", r"no loudspeaker called 'loom'\. Choose one of: 0 Headset .*; 2 Box \(hw:0,0\)\."),
        (ALL, "box", "input", r"there is no microphone called 'box'"),
        (ALL, 7, "input", r"there is no microphone called '7'"),
        (ALL, "", "input", r"there is no microphone called ''"),
        ([BOX], None, "input", r"there is no microphone\. Connect a microphone .* apt-get install libasound2-plugins"),
        ([], None, "output", r"there is no loudspeaker\. Connect"),
    ],
)
def test_candidates_are_named(listed: list[Device], wanted: str | int | None, kind: Kind, complaint: str) -> None:
    with pytest.raises(DeviceError, match=complaint):
        choose(listed, wanted, kind)


def test_a_name_that_is_part_of_another_means_itself() -> None:
    longer = replace(HEADSET, number=3, name="Headset (hw:1,0) stereo")
    assert choose([*ALL, longer], "headset (hw:1,0)", "input") is HEADSET


def test_one_device_in_several_systems_is_taken_from_the_usual_one() -> None:
    other = replace(HEADSET, number=0, system="OSS")
    listed = [other, replace(HEADSET, number=1), replace(DESK, number=2)]
    assert choose(listed, "headset", "input").system == "ALSA"


def test_of_two_with_one_name_none_is_taken_in_silence() -> None:
    left = replace(BOX, number=2, place="left", system="sound server", name="Box")
    right = replace(left, number=3, place="right")
    complaint = r"'box' can mean several loudspeakers: 2 Box \(left\); 3 Box \(right\)\. Give its number, or what"
    with pytest.raises(DeviceError, match=complaint):
        choose([left, right], "box", "output")
    assert choose([left, right], "3", "output") is right
    assert choose([left, right], "left", "output") is left
    twins = [replace(BOX, number=5), replace(BOX, number=6)]
    with pytest.raises(DeviceError, match=r"5 Box \(hw:0,0\) \(ALSA\); 6 Box \(hw:0,0\) \(ALSA\)"):
        choose(twins, "box", "output")


def test_twins_are_found_again_in_their_order_or_not_at_all() -> None:
    twins = [replace(BOX, number=5, name="Box"), replace(BOX, number=6, name="Box")]
    later = [replace(twin, number=twin.number + 2) for twin in twins]
    assert again(twins[1], twins, later) is later[1]
    assert again(twins[1], twins, later[:1]) is None  # it may be the other one
    assert again(twins[1], twins, [*later, replace(later[0], number=9)]) is None
    assert again(twins[1], twins, []) is None
    cards = [replace(BOX, number=5), replace(BOX, number=6, name="Box (hw:3,0)")]
    assert again(cards[1], cards, cards[1:]) is cards[1]  # the system numbers these itself


def test_a_card_that_is_counted_anew_is_the_same_device() -> None:
    assert HEADSET.is_same(replace(HEADSET, number=5, name="Headset (hw:3,0)"))
    assert not HEADSET.is_same(replace(HEADSET, name="Headset (hw:1,2)"))
    assert not HEADSET.is_same(DESK)
    assert not replace(HEADSET, place="a").is_same(replace(HEADSET, place="b"))


@given(st.text(max_size=12), st.sampled_from(["input", "output"]))
def test_any_name_finds_a_device_of_the_kind_or_is_refused(text: str, kind: Kind) -> None:
    try:
        found = choose(ALL, text, kind)
    except DeviceError:
        return
    assert found.channels(kind) > 0
    assert str(found.number) == text.strip() or text.strip().casefold() in found.name.casefold()


@pytest.mark.parametrize(
    ("code", "complaint"),
    [
        # PaErrorCode of portaudio.h: -9985 from memory, the others as seen
        (-9985, "microphone 'Desk microphone (hw:2,0)' is busy. Close the program that uses it"),
        (-9997, "takes neither our sample rate nor its own"),
        (-9999, "cannot be opened: it is gone, or the sound server has ended"),
        (-9986, "cannot be opened ("),
    ],
)
def test_what_portaudio_complains_of_comes_with_a_cure(code: int, complaint: str) -> None:
    error = opening_failed(RuntimeError("what it says", code), DESK, "input")
    assert complaint in str(error)
    assert error.cure


@pytest.mark.apt
def test_devices_behind_a_sound_server_are_listed_by_their_own_names(card: SoundCard) -> None:
    assert card.folder.exists()
    listed = devices()
    assert [device.number for device in listed] == list(range(len(listed)))
    found = choose(listed, "benchmic", "input")
    assert (found.name, found.place, found.usual_input) == ("BenchMicrophone", "vmic_in", True)
    assert choose(listed, "benchloud", "output").usual_output
    assert "Monitor" not in " ".join(device.name for device in listed)  # a loudspeaker's own sound is no microphone
