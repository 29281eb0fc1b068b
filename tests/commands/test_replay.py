"""`benchvoice replay`: transcripts of every form, journals, and a long one."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
import soundfile

from benchvoice.events import Heard, Opened, Reading
from benchvoice.keep.journal import read_journal
from tests.commands.records import stable
from tests.commands.running import DEMOS, demo, run

LINES = """\
rail five reads five point zero two
[00:00:05] Rail 3.3 reads 4.0 V.
good morning
rail three point three reads three point
"""


def lines(folder: Path, text: str = LINES) -> Path:
    path = folder / "lines.txt"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("name", DEMOS)
def test_demo_transcripts_fold_to_the_expected_record(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo(name)
    ran = run(capsys, "replay", folder / "board.yaml", folder / "transcript.vtt", "--meter", folder / "meter.yaml",
              "--jobs", tmp_path, "--job", "demo")  # fmt: skip
    assert ran.status == 0, ran.err
    record = json.loads((tmp_path / "demo" / "record.json").read_text(encoding="utf-8"))
    assert stable(record) == json.loads((folder / "expected_record.json").read_text(encoding="utf-8"))


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system takes no time zone from its environment")
def test_the_journal_knows_the_clock_on_the_wall(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Times are UTC; the customer's day is the one here. TZ=HERE-5:30 is 5 h 30 min ahead (POSIX, 8.3, from memory)."""
    with monkeypatch.context() as there:
        there.setenv("TZ", "HERE-5:30")
        time.tzset()
        ran = run(capsys, "replay", demo("failed_regulator") / "board.yaml", lines(tmp_path), "--jobs", tmp_path,
                  "--job", "a")  # fmt: skip
    time.tzset()
    assert ran.status == 0, ran.err
    opened = read_journal(tmp_path / "a").events[0]
    assert isinstance(opened, Opened)
    assert opened.utc_offset_min == 330
    assert opened.at.utcoffset() == timedelta(0)


def test_lines_with_typed_numbers_and_talk_in_between(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "replay", demo("failed_regulator") / "board.yaml", lines(tmp_path), "--jobs", tmp_path,
              "--job", "a", "--complaint", "fan never stops", "--serial", "GF2-0042")  # fmt: skip
    assert ran.status == 0, ran.err
    assert "Fail, high. Four point zero volts." in ran.out
    assert "Not taken. Nothing was said after the point." in ran.out
    events = read_journal(tmp_path / "a").events
    readings = [(event.point, event.value, event.unit) for event in events if isinstance(event, Reading)]
    assert readings == [("rail 5", "5.02", "V"), ("rail 3.3", "4.0", "V")]
    outcomes = [(event.outcome, event.why) for event in events if isinstance(event, Heard)]
    assert outcomes[2:] == [
        ("ignored", "not a sentence of the bench"),
        ("ignored", "nothing was said after the point"),
    ]
    opened = events[0]
    assert isinstance(opened, Opened)
    assert (opened.complaint, opened.serial) == ("fan never stops", "GF2-0042")


def test_json_is_the_journal_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "replay", demo("failed_regulator") / "board.yaml", lines(tmp_path), "--jobs", tmp_path,
              "--job", "a", "--json")  # fmt: skip
    assert ran.status == 0
    assert ran.out == (tmp_path / "a" / "journal.jsonl").read_text(encoding="utf-8")
    assert ran.err == ""


def test_a_job_is_taken_up_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    for text in ("rail five reads five point zero two", "correction five point zero one\nyes"):
        assert run(capsys, "replay", board, lines(tmp_path, text), "--jobs", tmp_path, "--job", "a").status == 0
    events = read_journal(tmp_path / "a").events
    assert [event.value for event in events if isinstance(event, Reading)] == ["5.02", "5.01"]
    assert [event.resumed for event in events if isinstance(event, Opened)] == [False, True]


def test_a_complaint_given_later_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    for complaint in ("no heat", "smells burnt"):
        run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "a", "--complaint", complaint)
    record = json.loads((tmp_path / "a" / "record.json").read_text(encoding="utf-8"))
    assert record["complaint"] == "smells burnt"


def test_a_resumed_job_takes_no_value_for_the_last_sessions_point(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = demo("failed_regulator") / "board.yaml"
    for text in ("rail five reads five point zero two", "four point nine"):
        ran = run(capsys, "replay", board, lines(tmp_path, text), "--jobs", tmp_path, "--job", "a")
    assert "Not taken. The point was not said." in ran.out
    readings = [event.value for event in read_journal(tmp_path / "a").events if isinstance(event, Reading)]
    assert readings == ["5.02"]


CONVERSATIONS = [
    # what is said, and the readings that count at the end
    # a refused sentence named another point: the value after it belongs to none
    ("rail five reads five point one\nrail six reads five volts\nfive point two", [("rail 5", "5.1")]),
    ("rail five reads five point one\nlogic rail to ground reads 4.9 V\n4.9", [("rail 5", "5.1")]),
    # a correction never strikes another point's reading, nor one of another stage
    (
        "rail five reads five point one\ninput reads twenty four\nafter the repair\ncorrection rail five reads 5.2",
        [("rail 5", "5.1"), ("input", "24")],
    ),
    ("rail five reads five point one\non input\ncorrection twenty four", [("rail 5", "5.1")]),
    ("rail five reads five point one\ncorrection five point two", [("rail 5", "5.2")]),
    # more digits than the meter can show are asked
    ("rail five reads five point oh oh oh oh two", []),
    ("rail five reads five kilovolts\nfive", []),
    ("rail five reads five kilovolts\nrail five reads five", [("rail 5", "5")]),
    ("fan current is 330 A\nthree hundred and thirty milliamps", [("fan current", "330")]),
    ("fan current is 330 A\ncancel\nyes", []),
    ("rail three point three reads thirty three\nthree three", [("rail 3.3", "3.3")]),
    # an answer after two minutes of the recording answers nothing
    ("[00:00:01] rail five reads 55 V\n[00:05:00] yes", []),
    ("[00:00:01] rail five reads 55 V\n[00:00:05] yes", [("rail 5", "55")]),
]


def counting(job: Path) -> list[tuple[str, str]]:
    """Point and value of the readings in a job's record that count."""
    record = json.loads((job / "record.json").read_text(encoding="utf-8"))
    return [(item["point"], item["value"]) for item in record["readings"] if item["status"] == "current"]


@pytest.mark.parametrize(("text", "count"), CONVERSATIONS)
def test_readings_that_count(
    text: str, count: list[tuple[str, str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo("failed_regulator")
    ran = run(capsys, "replay", folder / "board.yaml", lines(tmp_path, text), "--meter", folder / "meter.yaml",
              "--jobs", tmp_path, "--job", "a")  # fmt: skip
    assert ran.status == 0, ran.err
    assert counting(tmp_path / "a") == count


KILN = """\
board: KL-4 kiln controller
points:
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
  - {name: mains, nominal: 230 V, tolerance: 10 %}
  - {name: probe, quantity: voltage}
  - {name: blocking diode, quantity: diode drop}
  - {name: cold junction, limits: {high: 70 degC}}
  - {name: shunt, limits: {low: 100 mA}}
  - {name: test point one}
  - {name: supply transformer, nominal: 230 V, tolerance: 10 %, waveform: AC}
  - {name: fan ripple, quantity: ripple, limits: {high: 20 mV}}
  - {name: fault code, quantity: digits, alone: true}
  - {name: rail 5 to ground, say: [supply to ground], limits: {low: 200 ohm}}
"""

AT_THE_KILN = [
    # what is said, what is answered, and the readings that count at the end
    (
        "blocking diode reads eighteen fifty",
        "Blocking diode. One point eight five zero or zero point one eight five zero volts?",
        [],
    ),
    ("blocking diode reads one eight five\nthe second", "1.85", [("blocking diode", "1.85")]),
    (
        "blocking diode reads one eight five",
        "Blocking diode. Zero point one eight five or one point eight five volts?",
        [],
    ),
    ("probe reads three thirty", "Probe. Three hundred and thirty or three point three zero volts?", []),
    ("probe reads three oh three", "Probe. Three hundred and three or three point zero three volts?", []),
    ("probe reads three oh three\n3.03", "", [("probe", "3.03")]),
    ("mains reads two thirty", "Pass. Two hundred and thirty", [("mains", "230")]),
    ("rail five reads five oh five", "Taken as five point zero five", [("rail 5", "5.05")]),
    ("cold junction reads minus forty two", "Minus forty two degrees on cold junction?", []),
    ("cold junction reads twenty two", "Pass. Twenty two.", [("cold junction", "22")]),
    ("shunt reads fifty amps", "Fifty amps on shunt?", []),
    ("shunt reads three hundred milliamps", "Pass.", [("shunt", "300")]),
    # AC where DC is measured is asked, and the answer says which
    ("rail five reads five volts ac", "Five volts A C on rail five?", []),
    ("rail five reads five volts ac\nfive volts", "Five volts A C on rail five?", []),
    ("rail five reads five volts ac\nrail five reads 5 V", "Five volts. Rail five.", [("rail 5", "5")]),
    ("rail five reads five volts ac\nyes", "5 V AC", [("rail 5", "5")]),
    ("rail five reads five volts dc", "5 V DC", [("rail 5", "5")]),
    ("supply transformer reads 230 V true rms", "230 V AC", [("supply transformer", "230")]),
    ("supply transformer reads 230 V dc", "Two hundred and thirty volts D C on supply transformer?", []),
    ("probe reads five volts ac", "5 V AC", [("probe", "5")]),  # nothing is known of it
    ("probe reads 5.1 V ac\ncorrection 5.2 V", "five point two volts A C.", [("probe", "5.2")]),
    ("fan ripple is four millivolts ac", "4 mV AC", [("fan ripple", "4")]),
    # punctuation within a value may part two numbers
    ("probe reads 3, 3", "Not taken. Write the number without a comma.", []),
    ("probe reads 3,3 V", "Not taken. Write the number without a comma.", []),
    ("probe 3.3 V", "Not taken. Say probe reads and then the value.", []),
    # what was wrong is told before the open question is asked again
    (
        "rail 5 reads 50.2 V\nrail 5 reads 5.02 A",
        "Amps does not measure voltage. Fifty point two volts on rail five?",
        [],
    ),
    ("probe = 3.3 V", "Not taken. Say probe reads and then the value.", []),
    ("probe reads OL", "Over range.", [("probe", "over range")]),
    ("probe reads 1,200 V", "Not taken. Write the number without a comma.", []),
    # another point may be meant, or the number runs on
    ("test point one 1.2 reads 1.2", "Not taken. What followed test point one was not understood.", []),
    ("rail 5 .3 reads 3.3", "Not taken.", []),
    ("probe reads twenty, four", "Not taken. The value is parted by a sign.", []),
    ("probe reads five, point one", "Five point one.", [("probe", "5.1")]),
    # what is struck is named, and asked about first where it belongs to another stretch of work
    ("rail five reads 5.1\nstrike that", "Struck. Five point one at rail five.", []),
    (
        "rail five reads 5.1 V\ncorrection probe reads 5.1",
        "Struck, five point one volts at rail five.",
        [("probe", "5.1")],
    ),
    (
        "rail five reads 5.1\nafter the repair\nstrike that",
        "Strike five point one volts at rail five?",
        [("rail 5", "5.1")],
    ),
    (
        "rail five reads 5.1\nafter the repair\ncorrection 5.2",
        "Correct five point one volts at rail five to five point two volts?",
        [("rail 5", "5.1")],
    ),
    ("rail five reads 5.1\nafter the repair\ncorrection 5.2\nyes", "Corrected, five point two.", [("rail 5", "5.2")]),
    # values alone belong to the point that "on" named
    ("on probe\n5.1\n5.2", "Five point two. Probe.", [("probe", "5.2")]),
    ("probe reads 5.1\n5.2", "Not taken. The point was not said.", [("probe", "5.1")]),
    ("on probe\nrail five reads 5.1\n5.2", "Not taken. The point was not said.", [("rail 5", "5.1")]),
    # a point read alone takes nothing that may be meant for the point in hand
    ("zero four", "Recorded. Zero four. Fault code.", [("fault code", "04")]),
    ("on probe\nzero four", "Zero four at fault code?", []),
    ("zero four\non probe\n5.1 volts", "Five point one volts. Probe.", [("fault code", "04"), ("probe", "5.1")]),
    ("zero four\nfive point one", "Not taken.", [("fault code", "04")]),
    # names as they are typed
    ("test point 1 reads 5\nTP 1 reads 6\nTP1 reads 7", "Seven. Test point one.", [("test point one", "7")]),
    ("rail 5 to ground reads 470", "Four hundred and seventy ohms", [("rail 5 to ground", "470")]),
    # a name and more is never the point nearly heard
    ("rail five output reads 5", "Not taken. What followed rail five was not understood.", []),
    ("rail five reads 5.1\ncorrection rail five to chassis reads 5.2", "Not taken.", [("rail 5", "5.1")]),
    # a written name is heard beside the names that a point is given; a voltage is no slip for a resistance
    ("rail five to ground reads 470", "Four hundred and seventy ohms", [("rail 5 to ground", "470")]),
    (
        "rail five reads 5.1\ncorrection rail five to ground reads 5.2",
        "Correct five point one volts at rail five to five point two ohms at supply to ground?",
        [("rail 5", "5.1")],
    ),
    ("rail five reads 5.1\ncorrection rale five reads 5.2", "Correct", [("rail 5", "5.1")]),
]


@pytest.mark.parametrize(("text", "answer", "count"), AT_THE_KILN)
def test_what_is_taken_and_what_is_asked(
    text: str, answer: str, count: list[tuple[str, str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = tmp_path / "kiln.yaml"
    board.write_text(KILN, encoding="utf-8")
    ran = run(capsys, "replay", board, lines(tmp_path, text), "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert answer in ran.out
    assert counting(tmp_path / "a") == count


def test_the_waveform_stands_in_record_and_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = tmp_path / "kiln.yaml"
    board.write_text(KILN, encoding="utf-8")
    text = "supply transformer reads 230 V AC\nprobe reads 5 V DC\nstrike that"
    assert run(capsys, "replay", board, lines(tmp_path, text), "--jobs", tmp_path, "--job", "a").status == 0
    record = json.loads((tmp_path / "a" / "record.json").read_text(encoding="utf-8"))
    assert [reading["waveform"] for reading in record["readings"]] == ["AC", "DC"]
    told = [row["what"] for row in record["timeline"]]
    assert "supply transformer: 230 V AC, pass" in told
    assert "Withdrawn: probe 5 V DC" in told
    assert "230\u00a0V AC" in (tmp_path / "a" / "record.html").read_text(encoding="utf-8")


def meters(job: Path) -> list[str | None]:
    opened = [event for event in read_journal(job).events if isinstance(event, Opened)]
    return [None if event.meter is None else event.meter.sha256 for event in opened]


def test_a_job_is_taken_up_with_its_own_meter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who starts again after a power cut names the job, no more."""
    folder = demo("failed_regulator")
    given = ("replay", folder / "board.yaml", lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    assert run(capsys, *given, "--meter", folder / "meter.yaml").err == ""
    ran = run(capsys, *given)
    assert ran.status == 0
    assert ran.err == (
        "benchvoice: the meter is that of this job's last session; --meter names another: "
        f"{tmp_path / 'a' / 'meter.yaml'}\n"
    )
    first, again = meters(tmp_path / "a")
    assert first == again is not None


def test_another_meter_on_resuming_is_told_and_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, other = demo("failed_regulator"), tmp_path / "other.yaml"
    text = (folder / "meter.yaml").read_text(encoding="utf-8")
    other.write_text(text.replace("hand-held", "bench"), encoding="utf-8")
    given = ("replay", folder / "board.yaml", lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    run(capsys, *given, "--meter", folder / "meter.yaml")
    ran = run(capsys, *given, "--meter", other)
    assert "this job's last session used the meter 'hand-held multimeter, 6000 counts', this one 'bench" in ran.err
    run(capsys, *given)
    first, second, third = meters(tmp_path / "a")
    assert first != second == third


def test_a_job_whose_meter_is_not_kept_tells_that_it_has_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo("failed_regulator")
    given = ("replay", folder / "board.yaml", lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    run(capsys, *given, "--meter", folder / "meter.yaml")
    (tmp_path / "a" / "meter.yaml").unlink()
    ran = run(capsys, *given)
    assert ran.status == 0
    assert "used the meter 'hand-held multimeter, 6000 counts', this one none" in ran.err


def test_a_replayed_journal_overwrites_no_other_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    for job in ("a", "b"):
        run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", job)
    before = (tmp_path / "b" / "record.json").read_bytes()
    journal = tmp_path / "a" / "journal.jsonl"
    taken = run(capsys, "replay", board, journal, "--jobs", tmp_path, "--job", "b")
    assert (taken.status, (tmp_path / "b" / "record.json").read_bytes()) == (2, before)
    assert "would overwrite the record" in taken.err
    outside = run(capsys, "replay", board, journal, "--jobs", tmp_path / "jobs", "--job", "../out")
    assert outside.status == 2
    assert not (tmp_path / "out").exists()
    run(capsys, "replay", demo("clean_board") / "board.yaml", journal, "--jobs", tmp_path / "jobs")
    assert not (tmp_path / "jobs").exists()


def test_journals_of_folders_with_the_same_name_do_not_meet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    jobs = tmp_path / "jobs"
    for shelf, text in (("left", "rail five reads five point one"), ("right", "rail five reads five point two")):
        run(capsys, "replay", board, lines(tmp_path, text), "--jobs", tmp_path / shelf, "--job", "fan-1")
    first, second = (tmp_path / shelf / "fan-1" / "journal.jsonl" for shelf in ("left", "right"))
    for _ in range(2):  # the same journal once more changes nothing
        assert run(capsys, "replay", board, first, "--jobs", jobs).status == 0
    kept = (jobs / "fan-1-replayed" / "record.json").read_bytes()
    taken = run(capsys, "replay", board, second, "--jobs", jobs)
    assert taken.status == 2
    assert "would overwrite the record" in taken.err
    assert "Name another --job" in taken.err
    assert (jobs / "fan-1-replayed" / "record.json").read_bytes() == kept
    # nor is a record overwritten whose journal is gone
    (jobs / "fan-1-replayed" / "journal.jsonl").unlink()
    assert run(capsys, "replay", board, second, "--jobs", jobs).status == 2
    assert (jobs / "fan-1-replayed" / "record.json").read_bytes() == kept


def test_a_journal_folds_to_the_same_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    ran = run(capsys, "replay", board, tmp_path / "a" / "journal.jsonl", "--jobs", tmp_path, "--job", "b")
    assert ran.status == 0, ran.err
    first, second = ((tmp_path / job / "record.json").read_bytes() for job in ("a", "b"))
    assert first == second
    assert run(capsys, "record", "b", "--jobs", tmp_path).status == 0
    assert (tmp_path / "b" / "record.json").read_bytes() == first
    other = run(
        capsys, "replay", demo("clean_board") / "board.yaml", tmp_path / "a" / "journal.jsonl", "--jobs", tmp_path
    )
    assert other.status == 2
    assert "is the journal of 'GF-2 greenhouse fan controller', not of 'LD-3 loom drive'" in other.err


def test_a_journal_is_printed_as_it_is_without_its_unfinished_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = demo("failed_regulator") / "board.yaml"
    run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    journal = tmp_path / "a" / "journal.jsonl"
    whole = journal.read_bytes()
    journal.write_bytes(whole + b'{"seq":99,"at":"\xff')
    ran = run(capsys, "replay", board, journal, "--jobs", tmp_path, "--json")
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.encode() == whole
    record = json.loads((tmp_path / "a-replayed" / "record.json").read_text(encoding="utf-8"))
    assert record["integrity"]["torn"]["n_bytes"] == 17


def test_a_replayed_journals_clips_go_with_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = demo("failed_regulator")
    sound, rate_hz = soundfile.read(folder / "session.flac", dtype="int16")
    soundfile.write(tmp_path / "part.flac", sound[: 9 * rate_hz], rate_hz)
    run(capsys, "hear", folder / "board.yaml", tmp_path / "part.flac", "--jobs", tmp_path, "--job", "a")
    journal = tmp_path / "a" / "journal.jsonl"
    for job, there in (("b", True), ("c", False)):
        if not there:
            shutil.rmtree(tmp_path / "a" / "clips")
        assert run(capsys, "replay", folder / "board.yaml", journal, "--jobs", tmp_path, "--job", job).status == 0
        page = (tmp_path / job / "record.html").read_text(encoding="utf-8")
        links = re.findall(r'href="(clips/[^"]+)"', page)
        assert len(links) == (2 if there else 0)
        assert all((tmp_path / job / link).is_file() for link in links)


@pytest.mark.parametrize(
    "option", [("--meter", "m.yaml"), ("--complaint", "hot"), ("--serial", "7"), ("--technician", "b"), ("--terse",)]
)
def test_an_option_that_a_journal_leaves_nothing_to_do_for_is_refused(
    option: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = demo("failed_regulator") / "board.yaml"
    run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    ran = run(capsys, "replay", board, tmp_path / "a" / "journal.jsonl", "--jobs", tmp_path / "jobs", *option)
    assert ran.status == 2
    assert f"a journal is folded as it is. Leave out {option[0]}, or give a transcript." in ran.err
    assert not (tmp_path / "jobs").exists()


def test_questions_without_an_answer_are_told_at_the_end(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    said = "rail five reads 55 V\nno\nrail five reads 56 V\nyes\nrail five reads 57 V\ninput reads 24.1\n" \
        "rail five reads 58 V"  # fmt: skip
    ran = run(capsys, "replay", board, lines(tmp_path, said), "--jobs", tmp_path, "--job", "a", "--quiet")
    assert ran.status == 0, ran.err
    told = ran.out.partition("Questions without an answer: ")[2]
    assert told.startswith("2\n")
    assert "(another reading came; heard: rail five reads fifty seven volts)" in " ".join(told.split())
    assert "(the session ended; heard: rail five reads fifty eight volts)" in " ".join(told.split())
    assert "fifty six" not in told
    assert "fifty five" not in told
    answered = run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "b", "--quiet")
    assert "Questions without" not in answered.out


def test_a_transcript_may_come_through_a_pipe(tmp_path: Path) -> None:
    board = demo("failed_regulator") / "board.yaml"
    ran = subprocess.run(
        [sys.executable, "-m", "benchvoice.cli", "replay", str(board), "/dev/stdin", "--jobs", str(tmp_path),
         "--job", "a"],
        input=LINES.encode(),
        capture_output=True,
        check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert [event.value for event in read_journal(tmp_path / "a").events if isinstance(event, Reading)] == [
        "5.02",
        "4.0",
    ]


def test_another_boards_job_is_not_taken_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "replay", demo("failed_regulator") / "board.yaml", lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    before = (tmp_path / "a" / "journal.jsonl").read_bytes()
    ran = run(capsys, "replay", demo("clean_board") / "board.yaml", lines(tmp_path), "--jobs", tmp_path, "--job", "a")
    assert ran.status == 2
    assert re.search(r"this job is about 'GF-2 greenhouse fan controller', not 'LD-3 loom drive'", ran.err)
    assert (tmp_path / "a" / "journal.jsonl").read_bytes() == before


def test_terse_and_quiet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = demo("failed_regulator") / "board.yaml"
    terse = run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "a", "--terse")
    assert "Limits" not in terse.out
    quiet = run(capsys, "replay", board, lines(tmp_path), "--jobs", tmp_path, "--job", "b", "--quiet")
    assert "Fail, high." not in quiet.out
    assert "4.0 V  fail, high" in quiet.out


def cues(tmp_path: Path, *said: tuple[float, str]) -> Path:
    """A WebVTT file: each line with the second at which it begins, a second long."""
    stamps = [f"00:00:{start:06.3f} --> 00:00:{start + 1:06.3f}\n{text}" for start, text in said]
    path = tmp_path / "said.vtt"
    path.write_text("WEBVTT\n\n" + "\n\n".join(stamps) + "\n", encoding="utf-8")
    return path


PAUSES = [
    # a reading that goes on after a pause is asked, whichever way it goes on
    (((1, "logic rail to ground reads four hundred and seventy"), (3, "kilohms")),
     [("rail 3.3 to ground", "470", "ohm")], 1),
    (((1, "logic rail to ground reads four hundred and seventy"), (3, "kilohms"), (5, "yes")),
     [("rail 3.3 to ground", "470", "kohm")], 0),
    (((1, "rail five reads five"), (3, "point one")), [("rail 5", "5", "V")], 1),
    (((1, "rail five reads five"), (3, "point one"), (5, "yes")), [("rail 5", "5.1", "V")], 0),
    (((1, "rail five reads five"), (3, "point one"), (7, "five point two")), [("rail 5", "5.2", "V")], 0),
    # but an answer begins only when the question has been heard
    (((1, "rail five reads five"), (3, "point one"), (5, "five point two")), [("rail 5", "5", "V")], 2),
    # what cannot be the rest, or comes later, stands alone
    (((1, "rail five reads five"), (3, "rail five reads five point one")), [("rail 5", "5.1", "V")], 0),
    (((1, "rail five reads 50"), (3, "yes"), (5, "fan current is 330 amps")), [("rail 5", "50", "V")], 1),
    (((1, "rail five reads five"), (6, "kilohms")), [("rail 5", "5", "V")], 0),
]  # fmt: skip


@pytest.mark.parametrize(("said", "count", "unanswered"), PAUSES)
def test_a_pause_inside_a_reading(
    said: tuple[tuple[float, str], ...],
    count: list[tuple[str, str, str]],
    unanswered: int,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = demo("failed_regulator")
    ran = run(capsys, "replay", folder / "board.yaml", cues(tmp_path, *said), "--meter", folder / "meter.yaml",
              "--jobs", tmp_path, "--job", "a")  # fmt: skip
    assert ran.status == 0, ran.err
    record = json.loads((tmp_path / "a" / "record.json").read_text(encoding="utf-8"))
    found = [(item["point"], item["value"], item["unit"]) for item in record["readings"] if item["status"] == "current"]
    # of a point read twice the later counts; an earlier one stays beside it where it was not corrected
    assert found[-1:] == count
    assert sum(question["answer"] is None for question in record["questions"]) == unanswered
