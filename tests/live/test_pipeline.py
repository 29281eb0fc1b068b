"""The pipeline at the bench: what is answered when, what is taken back, and what is said of devices."""

from __future__ import annotations

import tempfile
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import Asked, ChecklistStep, Device, Heard, Lapsed, Removed, Said, Withdrawn
from benchvoice.live.parts import USUAL, LiveSettings
from benchvoice.records import Reply, Trust
from benchvoice.screen.view import EarState
from tests.live.bench import START, LiveBench, Span

WHOLE = "rail five reads five point oh volts"
OPEN = "rail five reads four"
GREETING = Reply("Ready. Next: rail five.")


def test_a_sentence_that_nothing_can_follow_is_answered_soon(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(4.0)
    assert bench.kinds == ["heard", "reading", "said"]
    assert bench.said == [
        "(pass)",
        "Pass. Five point zero volts. Rail five. Limits four point seven five to five point two five volts.",
    ]
    assert bench.said_at(0) == pytest.approx(2.5 + USUAL.end_wait_whole_s + bench.room.delay_s, abs=0.05)
    (heard, *_rest) = bench.keeper.kept[1:]
    assert isinstance(heard, Heard)
    assert heard.source == "bench microphone"
    assert heard.start_s == pytest.approx(0.7, abs=0.03)
    assert (tmp_path / "clips" / "000002.flac").is_file()


def test_a_reading_that_might_go_on_gets_its_tone_soon_and_its_words_when_it_did_not(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN))
    bench.until(5.0)
    assert bench.kinds == ["heard", "reading", "said"]
    assert bench.said[0] == "(fail)"
    assert bench.said_at(0) == pytest.approx(2.5 + USUAL.end_wait_whole_s + bench.room.delay_s, abs=0.05)
    assert bench.said_at(1) == pytest.approx(2.5 + 0.7 + bench.room.delay_s, abs=0.05)
    assert bench.readings == [("rail 5", "4")]


@pytest.mark.parametrize("pause_s", [0.38, 0.46, 0.6])
def test_a_pause_inside_a_value_leaves_no_half_of_it(pause_s: float, tmp_path: Path) -> None:
    """Pauses inside counted strings of people lie between 0.4 and 0.6 s (see SegmentSettings)."""
    bench = LiveBench(tmp_path, Span(1.0, 2.0, OPEN), Span(2.0 + pause_s, 2.8 + pause_s, "point one"))
    bench.until(6.0)
    assert bench.readings == [("rail 5", "4.1")]
    kept = bench.all_readings()
    withdrawn = [event for event in bench.keeper.kept if isinstance(event, Withdrawn)]
    assert [event.reading for event in withdrawn] == [reading.seq for reading in kept[:-1]]
    assert all(event.why == "speech went on" for event in withdrawn)
    assert all(event.at < START + timedelta(seconds=2.0 + pause_s + 0.15) for event in withdrawn)  # and silent at once
    assert not any("Four. " in said for said in bench.said)  # of the half only the beginning of its tone was heard
    assert bench.said[-1].startswith("Fail, low. Four point one.")


@pytest.mark.parametrize("pause_s", [0.38, 0.46, 0.6])
def test_a_pause_inside_what_was_taken_out_leaves_no_half_of_it(pause_s: float, tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.0, "out four screws"), Span(2.0 + pause_s, 2.8 + pause_s, "long top edge"))
    bench.until(6.0)
    removed = [event.thing for event in bench.keeper.kept if isinstance(event, Removed)]
    assert [(thing.count, thing.length, thing.place) for thing in removed] == [(4, "long", "top edge")]


def test_a_step_is_taken_back_with_half_of_the_value_that_answered_it(tmp_path: Path) -> None:
    steps = "checklist: short\nsteps:\n  - measure: rail 5\n  - measure: input\n"
    bench = LiveBench(tmp_path, Span(1.0, 2.0, OPEN), Span(2.6, 3.2, "point one"), checklist=steps)
    bench.until(2.5)
    progress = bench.bench.state.progress
    assert progress is not None
    assert (progress.point, bench.readings) == ("input", [("rail 5", "4")])  # answered before its time
    bench.until(6.0)
    assert bench.readings == [("rail 5", "4.1")]
    steps_kept = [event for event in bench.keeper.kept if isinstance(event, ChecklistStep)]
    assert [step.action for step in steps_kept] == ["started", "measured", "back", "measured"]
    assert steps_kept[-1].reading == bench.all_readings()[-1].seq
    progress = bench.bench.state.progress
    assert progress is not None
    assert progress.point == "input"


def test_half_a_value_is_withdrawn_once_only(tmp_path: Path) -> None:
    """After one answer too early the same utterance is answered at its very end."""
    bench = LiveBench(
        tmp_path, Span(1.0, 2.0, OPEN), Span(2.5, 3.0, "point one"), Span(3.5, 4.0, "two"), Span(4.5, 5.0, "five")
    )
    bench.until(7.0)
    assert bench.readings == [("rail 5", "4.125")]
    assert len([event for event in bench.keeper.kept if isinstance(event, Withdrawn)]) == 1


def test_on_a_slow_disk_an_early_answer_is_given_whole(tmp_path: Path) -> None:
    """Its utterance ends while it is being kept."""
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN))
    bench.keeper.slow_s = 0.6
    bench.until(6.0)
    assert bench.kinds == ["heard", "reading", "said"]
    assert bench.said[0] == "(fail)"
    assert bench.said[1].startswith("Fail, low. Four. Rail five.")
    assert len(bench.said) == 2


def test_speech_that_goes_on_while_its_beginning_is_kept_gets_no_answer(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.0, OPEN), Span(2.5, 3.2, "point one"))
    bench.keeper.slow_s = 0.6
    bench.until(8.0)
    assert bench.readings == [("rail 5", "4.1")]
    assert bench.said[0] == "(fail)"
    assert bench.said[1].startswith("Fail, low. Four point one.")


def test_an_answer_waits_for_the_technician_to_pause(tmp_path: Path) -> None:
    """Speech that begins before the answer has begun is not spoken over."""
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), Span(3.1, 4.5, "input reads twenty four volts"))
    bench.keeper.slow_s = 0.4
    bench.until(12.0)
    assert bench.said_at(0) > 4.5
    assert bench.readings[0] == ("rail 5", "5.0")


def test_what_is_asked_waits_for_the_whole_quiet(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE, Trust.DOUBTFUL))
    bench.until(4.0)
    assert bench.kinds == ["heard", "asked", "said"]
    assert bench.said_at(0) == pytest.approx(2.5 + 0.7 + bench.room.delay_s, abs=0.05)


def test_only_the_sound_that_was_heard_is_kept(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(4.0)
    heard = bench.keeper.kept[1]
    assert isinstance(heard, Heard)
    assert heard.start_s is not None
    assert heard.end_s is not None
    assert (heard.start_s, heard.end_s) == (bench.ears.heard[-1].start_s, bench.ears.heard[-1].end_s)


def test_a_correction_is_answered_a_little_sooner_than_the_whole_wait(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), Span(8.0, 9.0, "correction four point one"))
    bench.until(12.0)
    assert bench.readings == [("rail 5", "4.1")]
    assert bench.said_at(2) == pytest.approx(9.0 + USUAL.end_wait_sure_s + bench.room.delay_s, abs=0.05)
    assert [timing.wait_s for _, timing in bench.watcher.turns] == [USUAL.end_wait_whole_s, USUAL.end_wait_sure_s]


@pytest.mark.parametrize("pause_s", [0.4, 0.56, 0.66, 0.9, 1.2])
def test_a_pause_inside_a_correction_leaves_no_half_of_it_unasked(pause_s: float, tmp_path: Path) -> None:
    """Either it is heard whole, or what goes on is asked with the whole offered first."""
    settings = LiveSettings(headset=True)  # the answer does not cover what goes on
    correction = (Span(8.0, 9.0, "correction four"), Span(9.0 + pause_s, 9.8 + pause_s, "point one"))
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), *correction, settings=settings)
    bench.until(13.0)
    if pause_s < USUAL.end_wait_sure_s:
        assert bench.readings == [("rail 5", "4.1")]
        assert "asked" not in bench.kinds
    else:
        (asked,) = [event for event in bench.keeper.kept if isinstance(event, Asked)]
        assert (asked.candidates[0].point, asked.candidates[0].value) == ("rail 5", "4.1")


def test_an_answer_while_a_question_is_open_waits_for_its_end(tmp_path: Path) -> None:
    """A reading that answers a question cannot be taken back, so it must not be answered too early."""
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN, Trust.DOUBTFUL), Span(5.0, 6.0, OPEN), Span(6.5, 7.0, "point one"))
    bench.until(9.0)
    assert [event.kind for event in bench.keeper.kept if event.kind == "withdrawn"] == []
    assert bench.readings == [("rail 5", "4.1")]
    assert [timing.wait_s for _, timing in bench.watcher.turns] == [USUAL.end_wait_s] * 2


def test_a_slip_of_the_tongue_is_asked_and_not_answered_early(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, "rail five reads five point two wait"))
    bench.until(4.0)
    assert bench.readings == []
    assert bench.kinds == ["heard", "asked", "said"]
    assert bench.said_at(0) == pytest.approx(2.5 + 0.7 + bench.room.delay_s, abs=0.05)


def test_a_value_that_goes_on_after_its_answer_began_is_asked(tmp_path: Path) -> None:
    """Too late to be one utterance with its beginning, too early to be anything else."""
    bench = LiveBench(tmp_path, Span(1.0, 2.0, OPEN), Span(3.2, 3.8, "point one"), settings=LiveSettings(headset=True))
    bench.until(6.0)
    assert bench.kinds == ["heard", "reading", "said", "heard", "asked", "said"]
    asked = bench.keeper.kept[-2]
    assert isinstance(asked, Asked)
    assert asked.candidates[0].value == "4.1"


def test_a_question_without_an_answer_lapses_by_itself_and_says_so(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN, Trust.DOUBTFUL), Span(126.0, 126.5, "yes"))
    bench.until(120.0)
    assert bench.kinds == ["heard", "asked", "said"]
    bench.until(125.0)
    assert bench.kinds[3:] == ["lapsed", "said"]
    assert bench.said[-1] == "No answer. Not taken."
    bench.until(128.0)
    assert bench.readings == []


def test_an_answer_that_begins_in_time_is_waited_for(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN, Trust.DOUBTFUL), Span(121.0, 124.5, WHOLE))
    bench.until(128.0)
    assert "No answer. Not taken." not in bench.said
    assert bench.readings == [("rail 5", "5.0")]


def test_what_goes_badly_twice_beside_a_noise_is_followed_by_advice(tmp_path: Path) -> None:
    spans = [Span(start_s, start_s + 1.5, OPEN, Trust.DOUBTFUL) for start_s in (1.0, 8.0, 15.0)]
    bench = LiveBench(tmp_path, *spans)
    bench.room.voice, bench.room.quiet = 4000, 900  # 13 dB apart
    bench.until(25.0)
    assert bench.said.count("Too loud here. Move the microphone closer.") == 1
    assert bench.kinds == ["heard", "asked", "said", "heard", "asked", "said", "said", "heard", "asked", "said"]


# --- our own voice ------------------------------------------------------------------------------------------------
def test_our_own_voice_is_not_heard(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(tones_unheard=False))
    bench.room.echo_s = 0.1
    bench.until(20.0)
    assert bench.kinds == ["heard", "reading", "said"]


def test_what_is_said_right_after_our_voice_is_heard(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.room.echo_s = 0.1
    bench.until(3.2)
    ends_s = bench.speaker.sounds[-1][1] - 100.0
    bench.room.spans.append(Span(ends_s + 0.4, ends_s + 2.0, "input reads twenty four volts"))
    bench.until(ends_s + 4.0)
    assert bench.readings == [("rail 5", "5.0"), ("input", "24")]


def test_words_said_while_we_speak_are_never_half_heard(tmp_path: Path) -> None:
    """Of "input reads twenty four point one" our voice covers the beginning: what is left is asked."""
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(3.2)
    ends_s = bench.speaker.sounds[-1][1] - 100.0
    bench.room.spans += [Span(ends_s - 1.0, ends_s, "input reads twenty"), Span(ends_s, ends_s + 1.0, "four")]
    bench.until(ends_s + 4.0)
    assert bench.readings == [("rail 5", "5.0")]
    assert bench.kinds[-3:] == ["heard", "asked", "said"]


def test_with_a_headset_the_first_words_interrupt_us_and_are_heard_from_their_start(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(headset=True))
    bench.until(3.5)
    assert bench.speaker.speaking
    bench.room.spans.append(Span(3.6, 5.0, "input reads twenty four volts"))
    bench.until(5.8)
    stopped_s = bench.speaker.sounds[1][1] - 100.0
    assert 3.6 < stopped_s < 3.6 + 0.03 + bench.room.delay_s  # the first block of it
    assert bench.ears.heard[-1].start_s <= 3.6
    assert bench.readings == [("rail 5", "5.0"), ("input", "24")]


def test_a_click_does_not_interrupt_us(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(headset=True))
    bench.until(3.5)
    bench.room.spans.append(Span(3.6, 3.62, "click"))
    bench.until(4.0)
    assert bench.speaker.speaking
    ((paused_s, again_s),) = bench.speaker.pauses
    assert 3.6 < paused_s - 100.0 < again_s - 100.0 < 3.9


def test_a_microphone_that_is_lost_in_a_pause_does_not_leave_us_mute(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(headset=True))
    bench.until(3.5)
    bench.room.spans.append(Span(3.5, 3.52, "click"))
    bench.until(3.6)
    bench.room.why_deaf = "it was unplugged"
    bench.until(4.0)
    assert bench.speaker.paused_s is None
    assert "I lost the microphone." in bench.watcher.notices


# --- devices ------------------------------------------------------------------------------------------------------
def devices(bench: LiveBench) -> list[tuple[str, str, str]]:
    return [(event.device, event.state, event.why) for event in bench.keeper.kept if isinstance(event, Device)]


def test_a_lost_microphone_is_told_and_what_was_being_said_is_asked_again(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 3.0, WHOLE))
    bench.until(2.0)
    bench.room.why_deaf = "it was unplugged"
    bench.until(4.0)
    assert bench.watcher.ears[-1].state is EarState.DEAF
    assert bench.watcher.ears[-1].why == "it was unplugged"
    bench.room.why_deaf = ""
    bench.until(6.0)
    assert devices(bench) == [("bench microphone", "lost", "it was unplugged"), ("bench microphone", "back", "")]
    assert bench.watcher.notices == ["I lost the microphone.", "I hear you again. Say it again."]
    assert bench.readings == []


def test_a_microphone_that_was_lost_in_quiet_asks_for_nothing(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.until(1.0)
    bench.room.why_deaf = "it was unplugged"
    bench.until(2.0)
    bench.room.why_deaf = ""
    bench.until(3.0)
    assert bench.watcher.notices == ["I lost the microphone.", "I hear you again."]


def test_a_microphone_that_gates_its_noise_loses_no_reading(tmp_path: Path) -> None:
    """It gives zeros in every pause, and so is lost and comes back with each sentence."""
    bench = LiveBench(tmp_path, Span(5.0, 6.5, WHOLE), Span(12.0, 13.0, "input reads twenty four volts"))
    bench.room.gated = True
    bench.until(16.0)
    assert bench.readings == [("rail 5", "5.0"), ("input", "24")]
    assert ("bench microphone", "back", "") in devices(bench)
    assert "I hear you again." not in bench.watcher.notices  # the answer says as much, and nothing is said over speech


def test_that_it_hears_again_is_said_once_nobody_speaks(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(2.2, 3.0, "what is for lunch"))
    bench.until(1.0)
    bench.room.why_deaf = "it was unplugged"
    bench.until(2.0)
    bench.room.why_deaf = ""
    bench.until(3.4)
    assert bench.watcher.notices == ["I lost the microphone."]
    bench.until(5.0)
    assert bench.watcher.notices == ["I lost the microphone.", "I hear you again."]


def test_a_lost_voice_is_kept_and_what_it_said_last_is_said_again(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(3.0)
    bench.speaker.mute_why = "the loudspeaker is gone"
    bench.until(4.0)
    assert bench.watcher.ears[-1].why == "the loudspeaker is gone"
    bench.speaker.mute_why = ""
    bench.until(5.0)
    assert devices(bench) == [("speaker", "lost", "the loudspeaker is gone"), ("speaker", "back", "")]
    assert bench.said[-1].startswith("I can speak again. Pass. Five point zero volts.")


@pytest.mark.parametrize("headset", [False, True])
def test_what_was_said_before_the_greeting_is_not_heard(headset: bool, tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(headset=headset))
    bench.room.now_s = 5.0  # the engines were made ready
    bench.live.greet(GREETING)
    bench.until(10.0)
    assert bench.kinds == ["said"]
    assert bench.watcher.notices == [GREETING.text]
    bench.room.spans.append(Span(10.5, 12.0, WHOLE))
    bench.until(14.0)
    assert bench.readings == [("rail 5", "5.0")]


def test_a_sentence_that_began_before_the_greeting_is_asked(tmp_path: Path) -> None:
    """With a headset the greeting covers nothing of what comes after it, which may be half of a value."""
    bench = LiveBench(tmp_path, Span(5.0, 6.5, WHOLE), settings=LiveSettings(headset=True))
    bench.room.now_s = 5.2
    bench.live.greet(GREETING)
    bench.until(10.0)
    assert bench.readings == []
    assert "asked" in bench.kinds


@pytest.mark.parametrize("pause_s", [0.1, 0.4, 0.6])
def test_what_goes_on_after_a_pause_across_the_greeting_is_asked(pause_s: float, tmp_path: Path) -> None:
    """ "Input reads twenty", then the greeting: "rail five …" stands for what is said after it, and its beginning."""
    bench = LiveBench(
        tmp_path, Span(4.0, 5.0, "input"), Span(5.0 + pause_s, 7.0, WHOLE), settings=LiveSettings(headset=True)
    )  # fmt: skip
    bench.room.now_s = 5.05
    bench.live.greet(GREETING)
    bench.until(10.0)
    assert bench.readings == []
    assert "asked" in bench.kinds


def test_sound_lost_before_the_greeting_is_kept_and_not_told(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.room.now_s = 15.0
    bench.room.dropped_s = 4.8
    bench.keeper.slow_s = 1.0  # so that time passes between the greeting and the next look
    bench.live.greet(GREETING)
    bench.keeper.slow_s = 0.0
    bench.until(20.0)
    assert bench.watcher.notices == [GREETING.text]
    (event,) = [event for event in bench.keeper.kept if isinstance(event, Device)]
    assert event.lost_s == pytest.approx(4.8)
    bench.room.dropped_s += 0.9
    bench.until(21.0)
    assert bench.watcher.notices[1:] == ["I lost some sound. Say it again."]


def test_lost_sound_is_kept_with_how_much(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.until(1.0)
    bench.room.dropped_s = 0.3
    bench.until(2.0)
    (event,) = [event for event in bench.keeper.kept if isinstance(event, Device)]
    assert event.state == "dropped"
    assert event.lost_s == pytest.approx(0.3)


def test_sound_lost_while_something_may_have_been_said_is_told_once(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.until(1.0)
    for lost_s in (0.9, 1.8):  # one loss in two pieces
        bench.room.dropped_s = lost_s
        bench.until(bench.room.now_s + 0.5)
    bench.until(8.0)
    assert bench.watcher.notices == ["I lost some sound. Say it again."]
    bench.room.dropped_s += 0.9
    bench.until(9.0)
    assert bench.watcher.notices == ["I lost some sound. Say it again."] * 2


@pytest.mark.parametrize(("headset", "told"), [(False, 0), (True, 1)])
def test_sound_lost_under_our_own_voice_is_not_missed(headset: bool, told: int, tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), settings=LiveSettings(headset=headset))
    bench.until(4.0)
    assert bench.speaker.speaking
    bench.room.dropped_s = 0.6
    bench.until(4.1)
    assert len(bench.watcher.notices) == told


def test_a_voice_that_is_back_repeats_no_notice_but_says_how_it_stands(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(8.0)
    bench.room.why_deaf = "it was unplugged"
    bench.until(9.0)
    for why_deaf, said in (("it was unplugged", " I lost the microphone."), ("", "")):
        bench.room.why_deaf = why_deaf
        bench.until(bench.room.now_s + 1.0)
        bench.speaker.mute_why = "the loudspeaker is gone"
        bench.until(bench.room.now_s + 1.0)
        bench.speaker.mute_why = ""
        bench.until(bench.room.now_s + 1.0)
        assert bench.said[-1] == f"I can speak again.{said}"


def test_a_full_disk_while_a_question_lapses_is_told_once_and_its_end_too(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, OPEN, Trust.DOUBTFUL))
    bench.until(120.0)
    bench.keeper.full = True
    bench.until(150.0)
    assert bench.watcher.notices == ["Not kept. The disk is full."]
    assert bench.bench.state.question is not None
    bench.keeper.full = False
    bench.until(157.0)
    assert bench.watcher.notices[1:] == ["I can write again.", "No answer. Not taken."]
    assert bench.bench.state.question is None
    assert bench.kinds[3:] == ["lapsed", "said", "said"]


def test_a_machine_that_slept_says_so(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.until(1.0)
    bench.wall_s += 300
    bench.until(2.0)
    (event,) = [event for event in bench.keeper.kept if isinstance(event, Device)]
    assert event.state == "clock"
    assert event.lost_s == pytest.approx(300)
    assert bench.watcher.notices == ["The clock jumped. Go on."]


def test_a_full_disk_is_heard_and_nothing_is_believed(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE), Span(6.0, 7.5, WHOLE))
    bench.keeper.full = True
    bench.until(5.0)
    assert bench.said == ["(refused)", "Not kept. The disk is full."]
    assert bench.readings == []
    bench.keeper.full = False
    bench.until(9.0)
    assert bench.readings == [("rail 5", "5.0")]


def test_a_disk_that_fills_up_does_not_end_the_session(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path)
    bench.keeper.full = True
    bench.room.why_deaf = "it was unplugged"
    bench.until(1.0)
    assert bench.watcher.notices == [*["Not kept. The disk is full."] * 2, "I lost the microphone."]
    bench.keeper.full, bench.room.why_deaf = False, ""
    bench.room.spans.append(Span(9.0, 10.5, WHOLE))
    bench.until(12.0)
    assert bench.readings == [("rail 5", "5.0")]


def test_told_to_stop_listening_it_shows_that(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.0, "stop listening"))
    bench.until(5.0)
    assert bench.watcher.ears[-1].state is EarState.NOT_LISTENING


# --- any way of speaking ------------------------------------------------------------------------------------------
PIECES = (("rail five reads", "four", "point", "one", "two"), ("input reads", "twenty", "four", "volts"),
          ("rail five reads", "five"), ("strike that",), ("what is left",))  # fmt: skip
piece = st.tuples(st.sampled_from(PIECES), st.lists(st.integers(0, 32), min_size=5, max_size=5), st.integers(40, 80))


@settings(max_examples=15)
@given(st.lists(piece, min_size=1, max_size=4))
def test_answering_early_never_changes_what_counts(talk: list[tuple[tuple[str, ...], list[int], int]]) -> None:
    """The readings that count are those that the full wait alone leads to, however people pause while they speak."""
    spans: list[Span] = []
    at_s = 1.0
    for words, pauses, gap in talk:
        for word, pause in zip(words, pauses, strict=False):
            spans.append(Span(round(at_s, 2), round(at_s + 0.3, 2), word))
            at_s += 0.3 + pause * 0.02
        at_s += 1.0 + gap * 0.02 + 4.0
    found = []
    for early in (LiveSettings(headset=True), LiveSettings(end_wait_whole_s=9.0, headset=True)):
        with tempfile.TemporaryDirectory() as folder:
            bench = LiveBench(Path(folder), *spans, settings=early)
            bench.until(at_s + 1.0)
            found.append((bench.readings, bench.bench.state.question is None))
            undone = {event.reading for event in bench.keeper.kept if isinstance(event, Withdrawn)}
            assert len(bench.all_readings()) - len(undone) == len(bench.readings)
    assert found[0] == found[1]


def test_what_was_said_stands_in_the_journal(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, Span(1.0, 2.5, WHOLE))
    bench.until(4.0)
    said = [event for event in bench.keeper.kept if isinstance(event, Said | Lapsed)]
    assert [event.kind for event in said] == ["said"]
