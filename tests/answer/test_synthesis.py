"""The real synthesiser, each case in a process of its own: the library it loads is settled once per process."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from textwrap import dedent

import numpy as np
import pytest

from benchvoice.answer.synthesis import Synthesiser
from benchvoice.errors import SpeechError

ROOT = Path(__file__).parents[2]


def run(code: str, *arguments: str, environment: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """Runs a program in a fresh interpreter, with this checkout first on its path."""
    program = f"import sys; sys.path.insert(0, {str(ROOT)!r})\n{dedent(code)}"
    return subprocess.run(
        [sys.executable, "-c", program, *arguments],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env=environment,
    )


def test_speech_is_sound_of_a_sensible_length() -> None:
    speech = Synthesiser().speech("Fail, high. Four point zero.")
    assert speech.samples.dtype == np.int16
    assert speech.samples.ndim == 1
    assert speech.rate_hz >= 16_000
    # six words: slower than 6 and faster than 1 a second
    assert 1.0 < len(speech.samples) / speech.rate_hz < 6.0
    assert np.sqrt(np.mean(speech.samples.astype(float) ** 2)) > 500


def test_every_sentence_is_spoken_and_none_ends_in_silence() -> None:
    """Of several sentences only the last would survive were they not run one by one."""
    synthesiser = Synthesiser()
    short, long, again = (
        synthesiser.speech(text) for text in ("Pass.", "Say the note, then wait for the tone.", "Pass.")
    )
    assert len(long.samples) > 2 * len(short.samples)
    assert len(again.samples) == pytest.approx(len(short.samples), rel=0.1)
    tail = long.samples[-round(0.2 * long.rate_hz) :].astype(int)
    assert np.abs(tail).max() > 32


def test_speed_is_kept_however_quickly_sentences_follow() -> None:
    """A run that begins while eSpeak NG is busy cancels the speed set before it, or its own sentence."""
    slow, fast = Synthesiser(rate_wpm=120), Synthesiser(rate_wpm=240)
    lengths = [(len(slow.speech("Pass.").samples), len(fast.speech("Pass.").samples)) for _ in range(40)]
    assert min(length for length, _ in lengths) > 1.5 * max(length for _, length in lengths)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have voices of their own")
def test_library_of_the_wheel_speaks_and_leaves_the_environment_alone() -> None:
    done = run(
        """
        import json, os
        from benchvoice.answer.synthesis import Synthesiser
        before = os.environ.get("ESPEAK_DATA_PATH")
        speech = Synthesiser(library="carried").speech("Four point zero.")
        with open("/proc/self/maps") as maps:
            loaded = sorted({line.split()[-1] for line in maps if "libespeak" in line})
        print(json.dumps([len(speech.samples), loaded, before == os.environ.get("ESPEAK_DATA_PATH")]))
        """
    )
    assert done.returncode == 0, done.stderr
    length, loaded, untouched = json.loads(done.stdout)
    assert length > 10_000
    assert len(loaded) == 1
    assert "espeakng_loader" in loaded[0]
    assert untouched


def test_standard_output_stays_clean_and_many_threads_may_ask() -> None:
    done = run(
        """
        import threading
        from benchvoice.answer.synthesis import Synthesiser
        lengths = []
        def ask(n):
            lengths.append(len(Synthesiser().speech("Pass." if n % 2 else "Conditional fail, high.").samples))
        threads = [threading.Thread(target=ask, args=(n,)) for n in range(12)]
        for thread in threads: thread.start()
        for thread in threads: thread.join()
        sys.stderr.write(f"{len(lengths)} {min(lengths) > 2000}")
        """
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == ""
    assert done.stderr == "12 True"


def test_importing_loads_no_engine() -> None:
    done = run(
        """
        import benchvoice.answer.phrases, benchvoice.answer.speaker, benchvoice.answer.tones, benchvoice.answer.voice
        print(sorted({"pyttsx3", "sounddevice", "soundfile", "ruamel.yaml", "soxr"} & set(sys.modules)))
        """
    )
    assert done.stdout == "[]\n", done.stderr


def test_nothing_to_say_is_refused() -> None:
    with pytest.raises(SpeechError, match=r"there is nothing to say in '\.\.\.'"):
        Synthesiser().speech("...")


def test_missing_synthesiser_names_the_cure() -> None:
    done = run(
        """
        sys.modules["pyttsx3"] = None  # as if it were not installed
        from benchvoice.answer.synthesis import Synthesiser
        from benchvoice.errors import SpeechError
        try:
            Synthesiser().speech("Pass.")
        except SpeechError as error:
            print(error)
        """
    )
    assert "no speech synthesiser can be started" in done.stdout, done.stderr
    assert "pip install espeakng-loader" in done.stdout


def test_folder_that_cannot_be_written_is_an_error_and_not_a_hang(tmp_path: Path) -> None:
    done = run(
        """
        import tempfile
        from benchvoice.answer.synthesis import Synthesiser
        from benchvoice.errors import SpeechError
        usual, tempfile.tempdir = tempfile.gettempdir(), sys.argv[1]
        synthesiser = Synthesiser()
        try:
            synthesiser.speech("Pass.")
        except SpeechError as error:
            print(error)
        tempfile.tempdir = usual
        print(len(synthesiser.speech("Pass.").samples) > 2000)
        """,
        str(tmp_path / "gone"),
    )
    assert done.returncode == 0, done.stderr
    message, after = done.stdout.splitlines()
    assert message.startswith("the synthesiser wrote no sound")
    assert "can be written" in message
    assert after == "True"
