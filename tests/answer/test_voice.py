"""Voices that need no device: text and WAV file."""

from __future__ import annotations

import wave
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from benchvoice.answer.synthesis import Speech, Synthesiser
from benchvoice.answer.tones import tone_samples
from benchvoice.answer.voice import SPEECH_RATE_HZ, PrintingVoice, Voice, WaveVoice, reply_samples
from benchvoice.errors import StorageError
from benchvoice.records import Reply, Tone

FAIL = Reply("Fail, high. Four point zero.", Tone.FAIL)


def test_printing_voice_writes_words_or_else_the_tone() -> None:
    stream = StringIO()
    with PrintingVoice(stream, prefix="> ") as voice:
        for reply in (FAIL, Reply("", Tone.PASS), Reply("")):
            voice.say(reply)
        assert not voice.speaking
        assert voice.wait(0.0)
    assert stream.getvalue() == "> Fail, high. Four point zero.\n> (pass)\n"


def test_reply_is_its_tone_then_its_words() -> None:
    samples = reply_samples(FAIL, Synthesiser())
    tone = tone_samples(Tone.FAIL, SPEECH_RATE_HZ)
    assert np.array_equal(samples[: len(tone)], tone)
    pause = samples[len(tone) : len(tone) + round(0.05 * SPEECH_RATE_HZ)]
    assert not pause.any()
    assert len(samples) > len(tone) + SPEECH_RATE_HZ


def test_reply_can_be_tone_alone_words_alone_or_nothing() -> None:
    synthesiser = Synthesiser()
    assert np.array_equal(reply_samples(Reply("", Tone.ASK), synthesiser), tone_samples(Tone.ASK, SPEECH_RATE_HZ))
    assert len(reply_samples(Reply("Pass."), synthesiser)) > 0.2 * SPEECH_RATE_HZ
    assert len(reply_samples(Reply(""), synthesiser)) == 0


def test_speech_of_another_rate_is_resampled() -> None:
    at_48k = reply_samples(Reply("Listening."), Synthesiser(), 48_000)
    at_22k = reply_samples(Reply("Listening."), Synthesiser(), 22_050)
    assert len(at_48k) / 48_000 == pytest.approx(len(at_22k) / 22_050, rel=0.1)


def read(path: Path) -> Speech:
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return Speech(np.frombuffer(file.readframes(file.getnframes()), dtype="<i2"), file.getframerate())


def test_wave_voice_keeps_every_reply_at_its_time(tmp_path: Path) -> None:
    path = tmp_path / "replies.wav"
    with WaveVoice(path) as voice:
        voice.say(FAIL)
        voice.say(Reply(""))
        voice.say(Reply("Pass. Five point zero two.", Tone.PASS))
        voice.say(Reply("", Tone.DONE), not_before_s=9.0)
        spoken = voice.spoken
    samples, rate_hz = read(path)
    assert [item.reply for item in spoken] == [
        FAIL,
        Reply("Pass. Five point zero two.", Tone.PASS),
        Reply("", Tone.DONE),
    ]
    assert spoken[0].start_s == 0
    assert spoken[1].start_s == pytest.approx(spoken[0].end_s + 0.3, abs=0.001)
    assert spoken[2].start_s == pytest.approx(9.0, abs=0.001)
    assert len(samples) / rate_hz == pytest.approx(spoken[2].end_s, abs=0.001)
    for item, tone in zip(spoken, (Tone.FAIL, Tone.PASS, Tone.DONE), strict=True):
        start = round(item.start_s * rate_hz)
        expected = tone_samples(tone, rate_hz)
        assert np.array_equal(samples[start : start + len(expected)], expected)
    assert not samples[round(spoken[1].end_s * rate_hz) : round(9.0 * rate_hz) - 1].any()


def test_wave_voice_without_replies_is_an_empty_recording(tmp_path: Path) -> None:
    voice = WaveVoice(tmp_path / "replies.wav")
    voice.close()
    voice.close()
    assert len(read(tmp_path / "replies.wav").samples) == 0
    with pytest.raises(StorageError, match=r"replies\.wav: this voice is closed"):
        voice.say(FAIL)


def test_wave_voice_names_the_file_it_cannot_write(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match=r"replies\.wav: spoken replies cannot be written \(No such file"):
        WaveVoice(tmp_path / "missing" / "replies.wav")


def test_voices_keep_the_protocol(tmp_path: Path) -> None:
    voices: list[Voice] = [PrintingVoice(StringIO()), WaveVoice(tmp_path / "replies.wav")]
    for voice in voices:
        voice.say(Reply("", Tone.PASS))
        voice.stop()
        assert voice.wait()
        voice.close()
