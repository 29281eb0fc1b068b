"""`benchvoice hear`, `demo` and `check` on real sound, with the recognisers that come with benchvoice."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from rapidfuzz import fuzz

from benchvoice.events import Asked, Command, Heard, Note, Reading, Withdrawn
from benchvoice.keep.journal import read_journal
from tests.commands.records import stable
from tests.commands.running import DEMOS, demo, run
from tests.hear.sounds import quiet_around, speak

SPEECH = Path(__file__).parents[3] / "shared" / "speech"
HUMAN = pytest.mark.skipif(not SPEECH.is_dir(), reason="the recordings of people are not beside this checkout")
DIGITS_BOARD = """\
board: CT-1 counter
points:
  - {name: count, quantity: digits, alone: true}
"""


@pytest.mark.parametrize(
    "name",
    # the README's demo is heard by the test of its command too; the two others run where they are asked for
    [pytest.param(name, marks=() if name == "whole_repair" else pytest.mark.long) for name in DEMOS],
)
def test_demo_sound_folds_to_the_same_record_as_its_transcript(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo(name)
    ran = run(capsys, "hear", folder / "board.yaml", folder / "session.flac", "--meter", folder / "meter.yaml",
              "--jobs", tmp_path, "--job", "demo")  # fmt: skip
    assert ran.status == 0, ran.err
    record = json.loads((tmp_path / "demo" / "record.json").read_text(encoding="utf-8"))
    assert stable(record) == json.loads((folder / "expected_record.json").read_text(encoding="utf-8"))
    for event in read_journal(tmp_path / "demo").events:
        if isinstance(event, Heard | Note) and event.clip is not None:
            sound, rate_hz = soundfile.read(tmp_path / "demo" / event.clip)
            assert rate_hz == 16000
            assert len(sound) > 8000


@HUMAN
@pytest.mark.parametrize(
    ("sound", "said"),
    [
        ("digit_strings.wav", ["10001", "90210", "01803"]),
        ("one_two_three.wav", ["123"]),
    ],
)  # what people say in them: ../shared/speech/README.md
def test_digits_that_people_say(
    sound: str, said: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = tmp_path / "board.yaml"
    board.write_text(DIGITS_BOARD, encoding="utf-8")
    ran = run(capsys, "hear", board, SPEECH / "strings" / sound, "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    events = read_journal(tmp_path / "a").events
    # each is read as it was said, or asked with what was said among the offers
    read = [event for event in events if isinstance(event, Reading | Asked)]
    offers = [
        [event.value] if isinstance(event, Reading) else [offer.value for offer in event.candidates] for event in read
    ]
    assert len(offers) == len(said)
    assert all(digits in offered for digits, offered in zip(said, offers, strict=True))
    # where one is asked, the next is no certain answer to that, and is asked too
    assert sum(isinstance(event, Reading) for event in read) >= len(said) - 2


@HUMAN
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=() if name == "whole_repair" else pytest.mark.long) for name in DEMOS]
)
def test_other_talk_is_never_a_reading(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sounds = sorted((SPEECH / "other_speech").glob("*.wav"))
    assert len(sounds) == 10
    ran = run(capsys, "hear", demo(name) / "board.yaml", *sounds, "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert [event for event in read_journal(tmp_path / "a").events if isinstance(event, Reading)] == []


def test_sound_of_any_rate_and_channels(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import soxr

    folder = demo("failed_regulator")
    sound, rate_hz = soundfile.read(folder / "session.flac", dtype="float32")
    part = soxr.resample(sound[: 9 * rate_hz], rate_hz, 192_000)
    soundfile.write(tmp_path / "wide.wav", np.stack([part, part], axis=1), 192_000, subtype="PCM_24")
    ran = run(capsys, "hear", folder / "board.yaml", tmp_path / "wide.wav", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    values = [event.value for event in read_journal(tmp_path / "a").events if isinstance(event, Reading)]
    assert values == ["24.1", "5.02"]


def test_silence_is_heard_as_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soundfile.write(tmp_path / "quiet.wav", np.zeros(5 * 16000, np.int16), 16000)
    ran = run(capsys, "hear", demo("failed_regulator") / "board.yaml", tmp_path / "quiet.wav", "--jobs", tmp_path,
              "--job", "a")  # fmt: skip
    assert ran.status == 0, ran.err
    assert [event.kind for event in read_journal(tmp_path / "a").events] == ["opened", "closed"]


def test_raw_sound_on_standard_input_as_json(tmp_path: Path) -> None:
    folder = demo("failed_regulator")
    sound, rate_hz = soundfile.read(folder / "session.flac", dtype="int16")
    assert rate_hz == 16000
    ran = subprocess.run(
        [sys.executable, "-m", "benchvoice.cli", "hear", str(folder / "board.yaml"), "-", "--json",
         "--jobs", str(tmp_path)],
        input=sound[: 9 * 16000].tobytes(),
        capture_output=True,
        check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    events = [json.loads(line) for line in ran.stdout.splitlines()]
    assert [event["value"] for event in events if event["kind"] == "reading"] == ["24.1", "5.02"]
    assert [event["seq"] for event in events] == list(range(1, len(events) + 1))


def test_the_demo_leaves_journal_record_and_spoken_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "demo", "clean_board", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert {"journal.jsonl", "record.html", "record.csv", "record.json", "replies.wav", "clips"} <= {
        path.name for path in (tmp_path / "a").iterdir()
    }
    sound, rate_hz = soundfile.read(tmp_path / "a" / "replies.wav")
    assert len(sound) / rate_hz > 10
    assert "48.12 V  pass" in ran.out
    listed = run(capsys, "demo", "--list")
    assert listed.out.split() == sorted(DEMOS)
    unknown = run(capsys, "demo", "kiln")
    assert unknown.status == 2
    assert "there is no demo session 'kiln'. Name one of: clean_board" in unknown.err


@pytest.mark.apt
def test_an_announced_note_is_written_as_it_was_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = "the bearing hums when it is warm"
    spoken = ["take a note", said, "rail five reads five point zero two"]
    sound = np.concatenate([quiet_around(speak(text, tmp_path), 0.6) for text in spoken])
    soundfile.write(tmp_path / "note.wav", sound, 16_000)
    folder = demo("failed_regulator")
    ran = run(capsys, "hear", folder / "board.yaml", tmp_path / "note.wav", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    events = read_journal(tmp_path / "a").events
    (note,) = (event for event in events if isinstance(event, Note))
    assert fuzz.ratio(note.text.lower(), said) > 75
    assert not note.verified
    assert [(event.point, event.value) for event in events if isinstance(event, Reading)] == [("rail 5", "5.02")]


@pytest.mark.apt
def test_a_sentence_that_ends_with_the_sound_is_asked_and_the_reason_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = quiet_around(speak("rail five reads five point zero two", tmp_path), 0.6)
    folder = demo("failed_regulator")
    spoken_to = int(np.flatnonzero(np.abs(sound) > 300)[-1])
    for name, end in (("whole", len(sound)), ("short", spoken_to)):
        soundfile.write(tmp_path / f"{name}.wav", sound[:end], 16_000)
        ran = run(capsys, "hear", folder / "board.yaml", tmp_path / f"{name}.wav", "--jobs", tmp_path, "--job", name)
        assert ran.status == 0, ran.err
        told = "short.wav: what was said last is asked, since the sound ends with it. Leave a second of quiet after it."
        assert (told in ran.err) == (name == "short"), ran.err


@pytest.mark.apt
def test_a_value_where_no_point_is_in_hand_is_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoken = ["twenty four point one volts", "rail five reads five point zero two"]
    sound = np.concatenate([quiet_around(speak(text, tmp_path), 0.6) for text in spoken])
    soundfile.write(tmp_path / "alone.wav", sound, 16_000)
    folder = demo("failed_regulator")
    ran = run(capsys, "hear", folder / "board.yaml", tmp_path / "alone.wav", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert "Not taken. The point was not said." in ran.out
    events = read_journal(tmp_path / "a").events
    heard = [event for event in events if isinstance(event, Heard)]
    assert heard[0].text.startswith("twenty four point one")
    assert (heard[0].outcome, heard[0].why) == ("ignored", "the point was not said")
    assert [(event.point, event.value) for event in events if isinstance(event, Reading)] == [("rail 5", "5.02")]


TALK = ["close the door please", "strike it", "after the report", "what is for lunch", "stop that"]


@pytest.mark.apt
@pytest.mark.parametrize("voice", ["slt", "awb"])
def test_talk_that_comes_near_to_a_command_does_nothing(
    voice: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sentences of our own, a word away from one of the bench."""
    spoken = ["rail five reads five point zero two", *TALK]
    sound = np.concatenate([quiet_around(speak(text, tmp_path, voice), 1.0) for text in spoken])
    soundfile.write(tmp_path / "talk.wav", sound, 16_000)
    folder = demo("failed_regulator")
    ran = run(capsys, "hear", folder / "board.yaml", tmp_path / "talk.wav", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    events = read_journal(tmp_path / "a").events
    assert [(event.point, event.value) for event in events if isinstance(event, Reading)] == [("rail 5", "5.02")]
    assert not [event for event in events if isinstance(event, Command | Withdrawn)]


@pytest.mark.apt
def test_talk_without_a_breath_is_ignored_and_what_comes_after_it_is_heard(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Longer than an utterance may be."""
    talk = (
        "well i was telling my neighbour that the van with the broken window should go to the garage and then they "
        "rang me about the invoice for the new bench and the cabinet and all the other things that nobody had ordered "
        "from the catalogue so we must send the whole lot back to them before the end of the week"
    )
    spoken = [quiet_around(speak(text, tmp_path), 1.0) for text in (talk, "rail five reads five point zero two")]
    assert len(spoken[0]) > 14 * 16_000
    soundfile.write(tmp_path / "talk.wav", np.concatenate(spoken), 16_000)
    board = demo("failed_regulator") / "board.yaml"
    ran = run(capsys, "hear", board, tmp_path / "talk.wav", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    events = read_journal(tmp_path / "a").events
    assert [(event.point, event.value) for event in events if isinstance(event, Reading)] == [("rail 5", "5.02")]
    assert not [event for event in events if isinstance(event, Asked | Command | Withdrawn)]


def test_check_says_that_all_can_be_heard(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(
        capsys, "check", demo("failed_regulator") / "board.yaml", "--meter", demo("failed_regulator") / "meter.yaml"
    )
    assert ran.status == 0, ran.err
    assert "words of this board and the grammar can be heard by" in ran.out
    schema = run(capsys, "check", "--schema")
    assert json.loads(schema.out)["title"] == "benchvoice board file"


def test_with_an_attention_word_talk_without_it_is_not_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A session that was spoken without the word and two more readings, then a reading and a command with it."""
    folder = demo("failed_regulator")
    sound, rate_hz = soundfile.read(folder / "session.flac", dtype="int16")
    soundfile.write(tmp_path / "without.wav", sound[: 30 * rate_hz], rate_hz)
    with_it = [quiet_around(speak(f"gadget, {text}", tmp_path, "awb"), 1.0) for text in
               ("input reads twenty four point one volts", "after the repair")]  # fmt: skip
    soundfile.write(tmp_path / "with.wav", np.concatenate(with_it), 16000)
    others = [quiet_around(speak(f"{before}rail five is five point one volts", tmp_path, voice), 1.0)
              for before, voice in (("", "rms"), ("so ", "awb"))]  # fmt: skip
    soundfile.write(tmp_path / "others.wav", np.concatenate(others), 16000)
    ran = run(capsys, "hear", folder / "board.yaml", tmp_path / "without.wav", tmp_path / "others.wav",
              tmp_path / "with.wav", "--attention", "gadget", "--jobs", tmp_path, "--job", "a")  # fmt: skip
    assert ran.status == 0, ran.err
    events = read_journal(tmp_path / "a").events
    heard = [event for event in events if isinstance(event, Heard)]
    assert len(heard) > 6
    assert "the attention word 'gadget' has only 5 sounds" in ran.err
    assert {(event.outcome, event.text, event.clip) for event in heard[:-2]} == {("ignored", "", None)}
    assert [event.text.split()[0] for event in heard[-2:]] == ["gadget", "gadget"]
    assert [event.value for event in events if isinstance(event, Reading)] == ["24.1"]
    assert len(list((tmp_path / "a" / "clips").iterdir())) == 2


def test_an_attention_word_that_cannot_serve_makes_no_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = demo("failed_regulator")
    ran = run(capsys, "hear", folder / "board.yaml", folder / "session.flac", "--attention", "rail", "--jobs", tmp_path)
    assert ran.status == 2
    assert "the attention word 'rail' is said in sentences of the bench anyhow. Choose another word" in ran.err
    assert list(tmp_path.iterdir()) == []
