"""`benchvoice listen` on the software sound card: spoken to, heard by its tones, interrupted, unplugged, killed."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchvoice.cli import main
from benchvoice.events import Closed, Reading
from benchvoice.keep.journal import read_journal
from benchvoice.records import Tone
from tests.live.at_the_bench import BOARD, METER, Listening, listening, sentences, tones_in
from tests.live.kills import kill_once
from tests.sound_card import SoundCard, patiently, sound_card

pytestmark = pytest.mark.apt

PASSES = "input reads twenty four point one volts"
FAILS = "regulator body measures eighty one degrees"
MORE = "fan current is three hundred and thirty five milliamps"


@pytest.fixture
def card() -> Iterator[SoundCard]:
    """One for each test: several pull its plugs."""
    with sound_card() as made:
        yield made


def silent(run: Listening, seconds: float = 9.0) -> None:
    """Longer than any answer with its limits takes."""
    time.sleep(seconds)
    assert run.process.poll() is None, "".join(run.errors)


def test_what_is_spoken_is_answered_by_tone_kept_and_recorded(card: SoundCard, tmp_path: Path) -> None:
    with listening(card, tmp_path) as run:
        for sentence, tone in [(PASSES, Tone.PASS), (FAILS, Tone.FAIL)]:
            run.spoken.clear()
            with card.recording() as heard:
                run.say_until_taken(sentence)
                silent(run)
            asked = [Tone.ASK] * (len(run.spoken) - 1)
            assert [name for _, name in tones_in(heard.samples)] == [*asked, tone]
        assert run.end() == 130
    record = json.loads((run.folder / "record.json").read_text(encoding="utf-8"))
    assert [(read["point"], read["value"], read["statement"]) for read in record["readings"]] == [
        ("input", "24.1", "pass"),
        ("regulator body", "81", "fail"),
    ]
    assert all((run.folder / read["clip"]).is_file() for read in record["readings"])
    last = read_journal(run.folder).events[-1]
    assert isinstance(last, Closed)
    assert last.why == "interrupted"


@pytest.mark.long
def test_it_speaks_through_the_loudspeaker_that_is_named(card: SoundCard, tmp_path: Path) -> None:
    """A busy start starves the stream a few times, and each time it is made anew."""
    card.plug("vspk2")
    with (
        card.recording() as usual,
        card.recording("vspk2.monitor") as named,
        listening(card, tmp_path, "--input", "BenchMic", "--output", "Other") as run,
    ):
        run.say_until_taken(PASSES)
        silent(run)
        assert [name for _, name in tones_in(named.samples)] == [Tone.PASS]
        assert not len(usual.loud_s())


def test_it_does_not_answer_itself(card: SoundCard, tmp_path: Path) -> None:
    """Ten minutes of the same: python -m tests.benchmarks.echo."""
    card.plug("echo")
    with listening(card, tmp_path) as run:
        run.say_until_taken(FAILS)
        silent(run, 12.0)
        assert [event["text"] for event in run.kinds("heard")] == run.spoken
        assert run.kinds("withdrawn") == []


def test_with_a_headset_speech_interrupts_the_answer_and_is_heard(card: SoundCard, tmp_path: Path) -> None:
    """How fast is measured by python -m tests.benchmarks.interrupt; here only that it does."""
    with listening(card, tmp_path, "--headset") as run:
        with card.recording() as heard:
            run.say_until_taken(FAILS)  # its answer, with the limit, takes five seconds
            answered = len(run.kinds("reading", "asked"))
            time.sleep(1.0)
            run.say(MORE)
            ended_s = time.monotonic()
            run.wait("reading", "asked", count=answered + 1)
            during_s = heard.loud_s()
        assert not ((during_s > ended_s - 2.0) & (during_s < ended_s)).any()
        if len(run.kinds("reading")) < 2:
            time.sleep(6.0)
            run.say_until_taken(MORE)
        assert [event["value"] for event in run.kinds("reading")] == ["81", "335"]


@pytest.mark.parametrize(
    "number",
    # SIGINT ends nearly every session here
    [
        signal.SIGTERM,
        pytest.param(signal.SIGINT, marks=pytest.mark.long),
        pytest.param(signal.SIGHUP, marks=pytest.mark.long),
    ],
    ids=lambda number: number.name,
)
def test_told_to_end_it_closes_the_journal_and_writes_the_record(
    number: signal.Signals, card: SoundCard, tmp_path: Path
) -> None:
    with listening(card, tmp_path, json_lines=False) as run:
        assert run.end(number) == 128 + number, "".join(run.errors)
    assert [type(event) for event in read_journal(run.folder).events][-1] is Closed
    assert (run.folder / "record.html").is_file()
    assert str(run.folder / "record.json") in "".join(run.output)
    assert "Traceback" not in "".join(run.errors)


def test_killed_it_goes_on_where_it_was_and_says_so(card: SoundCard, tmp_path: Path) -> None:
    with listening(card, tmp_path) as run:
        run.say(PASSES)
        run.wait("said", count=2)
        run.process.kill()
    kept = [event for event in read_journal(run.folder).events if isinstance(event, Reading)]
    assert [reading.point for reading in kept] == ["input"]
    with listening(card, tmp_path) as again:
        assert again.kinds("said")[0]["text"] == "Resumed. One reading. Next: rail five."


def test_a_unit_that_came_back_is_told_aloud_and_measured_anew(card: SoundCard, tmp_path: Path) -> None:
    said = tmp_path / "said.txt"
    said.write_text("input reads 24.1 V\nfitted U4\nclose the job\n", encoding="utf-8")
    paths = ("--meter", str(METER), "--jobs", str(tmp_path), "--job", "bench")
    assert main(["replay", str(BOARD), str(said), *paths, "--quiet"]) == 0
    with listening(card, tmp_path) as run:
        assert (
            run.kinds("said")[0]["text"] == "Visit two. Closed today. One reading then. Replaced: U four. First: input."
        )
        assert [event["visit"] for event in run.kinds("opened")] == [2]
        assert "visit 2; visit 1 was closed on" in "".join(run.errors)
        assert run.end() == 130


def test_whatever_was_confirmed_survives_kills(card: SoundCard, tmp_path: Path) -> None:
    """Two hundred of them: python -m tests.benchmarks.kills."""
    lives = [kill_once(card, tmp_path, spoken, after_s) for spoken, after_s in ((1, 2.0), (1, 0.5))]
    assert [life.lost for life in lives] == [0, 0]
    assert sum(len(life.kept) for life in lives) > 0
    assert read_journal(tmp_path / "bench").events


def test_a_microphone_that_goes_and_comes_back_is_told(card: SoundCard, tmp_path: Path) -> None:
    with listening(card, tmp_path) as run:
        card.unplug("vmic_in")
        (lost,) = run.wait("device")
        assert lost["state"] == "lost"
        card.plug("vmic_in")
        assert [event["state"] for event in run.wait("device", count=2)] == ["lost", "back"]
        silent(run, 6.0)
        said = [event["text"] for event in run.kinds("said")]
        assert said[-2:] == ["I lost the microphone.", "I hear you again."]
        run.say_until_taken(PASSES)


@pytest.mark.long
def test_sound_that_was_lost_while_it_stood_still_is_said(card: SoundCard, tmp_path: Path) -> None:
    with listening(card, tmp_path) as run:
        run.process.send_signal(signal.SIGSTOP)
        time.sleep(3.0)
        run.process.send_signal(signal.SIGCONT)
        silent(run, 8.0)
        lost_s = [event["lost_s"] for event in run.kinds("device") if event["state"] == "dropped"]
        if not any(lost > 0.5 for lost in lost_s):
            pytest.skip(f"the sound server kept what came meanwhile (lost: {lost_s})")
        assert [event["text"] for event in run.kinds("said")].count("I lost some sound. Say it again.") == 1


def test_plain_prints_lines_from_getting_ready_on(card: SoundCard, tmp_path: Path) -> None:
    with listening(card, tmp_path, "--plain", "--quiet", json_lines=False) as run:
        for _ in range(3):  # said again where lost sound had it asked
            run.say(PASSES)
            if patiently(lambda: any(line.startswith("ok pass") for line in run.output), 8.0) is not None:
                break
        assert run.end() == 130, "".join(run.errors)
    printed = "".join(run.output)
    assert run.output[0] == "Getting ready to listen ...\n"
    assert run.output.index("listening\n") < run.output.index("said: Ready. First: input.\n")
    assert f"heard: {PASSES}" in printed
    assert "ok pass: input, 24.1 V" in printed
    assert "\x1b" not in printed


@pytest.mark.parametrize("shown", ["--plain", pytest.param("--json", marks=pytest.mark.long)])
def test_where_nobody_reads_on_it_closes_the_job_and_ends(shown: str, card: SoundCard, tmp_path: Path) -> None:
    """As by `| head -1`: nothing is said at the bench, so nothing is written that could fail."""
    command = [sys.executable, "-m", "benchvoice.cli", "listen", str(BOARD), "--jobs", str(tmp_path), "--job", "bench"]
    with subprocess.Popen(
        [*command, shown], env=card.environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        first = running.stdout.readline()
        running.stdout.close()
        status = running.wait(60)
        told = running.stderr.read()
    assert first == "Getting ready to listen ...\n" if shown == "--plain" else first.startswith("{")
    assert status == 141
    journal = tmp_path / "bench" / "journal.jsonl"
    assert told == f"benchvoice: nobody reads on what is printed; what was confirmed is in {journal}\n"
    last = read_journal(tmp_path / "bench").events[-1]
    assert isinstance(last, Closed)
    assert last.why == "nobody reads on what is printed"
    assert (tmp_path / "bench" / "record.html").is_file()


def test_it_starts_as_the_readme_says(card: SoundCard, tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (line,) = re.findall(r"^benchvoice (listen .*--job .*)$", readme, re.MULTILINE)
    for file in (BOARD, METER):
        shutil.copy(file, tmp_path)
    command = [sys.executable, "-m", "benchvoice.cli", *line.split(), "--plain"]
    environment = {**card.environment, "PYTHONPATH": os.pathsep.join(sys.path)}
    with subprocess.Popen(command, env=environment, cwd=tmp_path, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        printed = []
        for shown in running.stdout:
            printed.append(shown)
            if shown == "said: Ready. First: input.\n":
                running.send_signal(signal.SIGINT)
    assert running.returncode == 130, printed
    assert (tmp_path / "jobs" / "4711" / "record.html").is_file()


def listen(card: SoundCard, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "benchvoice.cli", "listen", *arguments]
    return subprocess.run(command, env=card.environment, capture_output=True, text=True, timeout=60, check=False)


def test_a_microphone_that_is_not_there_is_named_and_no_job_is_made(card: SoundCard, tmp_path: Path) -> None:
    ran = listen(card, str(BOARD), "--jobs", str(tmp_path / "jobs"), "--input", "parlour")
    assert ran.returncode == 2
    assert "there is no microphone called 'parlour'" in ran.stderr
    assert not (tmp_path / "jobs").exists()


def test_a_wait_that_makes_no_sense_is_refused(card: SoundCard) -> None:
    ran = listen(card, str(BOARD), "--end-wait", "0.1")
    assert ran.returncode == 2
    assert "'0.1' is not a number of seconds from 0.3 to 5" in ran.stderr


def test_the_sentences_are_those_of_the_session() -> None:
    assert {PASSES, FAILS, MORE} <= set(sentences())
