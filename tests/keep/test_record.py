"""The job record is a fold of the events: what counts, what does not, and nothing from anywhere else."""

from __future__ import annotations

import json
import tracemalloc
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import Event, ReadingCandidate
from benchvoice.keep.integrity import Integrity, TornLine
from benchvoice.keep.record import JobFold, JobRecord, fold, record_schema, with_integrity
from tests.keep.builders import METER, POINTS, Story, kiln_job

POINT_NAMES = [point.name for point in POINTS]


# --- the whole job ------------------------------------------------------------------------------------------------
def test_identification_of_the_kiln_job() -> None:
    record = fold(kiln_job())
    assert (record.job, record.board, record.revision) == ("kiln-0007", "KC-4 kiln controller", "B")
    assert (record.serial, record.complaint) == ("KC4-00112", "kiln stays cold, lamp flickers")
    assert record.meter == METER
    assert record.opened_at == kiln_job()[0].at
    assert record.closed_at == kiln_job()[-1].at
    assert [(s.resumed, s.stage, s.engine, s.closed_why) for s in record.sessions] == [
        (False, "before", "panel", "by a signal"),
        (True, "after", "network", "by voice"),
    ]


def test_what_counts_of_the_kiln_job() -> None:
    record = fold(kiln_job())
    assert [point.name for point in record.points] == POINT_NAMES
    by_name = {point.name: point for point in record.points}
    assert [(r.value, r.statement) for r in (by_name["rail 3.3"].before, by_name["rail 3.3"].after) if r] == [
        ("4.0", "fail"),
        ("3.31", "pass"),
    ]
    assert by_name["rail 3.3"].change == "-0.69"  # 3.31 - 4.0
    assert by_name["rail 3.3 to ground"].change is None
    assert [(r.value, r.status, r.ended_by) for r in record.readings if r.point == "rail 5"] == [
        ("5.02", "superseded", 17),
        ("5.03", "corrected", 17),
        ("5.01", "current", None),
    ]
    assert record.counts.readings == 5
    assert record.counts.statements == {
        "pass": 4,
        "conditional pass": 0,
        "conditional fail": 0,
        "fail": 1,
        "recorded": 0,
    }
    assert (record.counts.accepted, record.counts.asked, record.counts.ignored) == (8, 1, 1)
    assert [(n.stage, n.points) for n in record.not_read] == [
        ("before", ("rail 3.3 to ground", "thermocouple")),
        ("after", ("input", "rail 5", "thermocouple")),
    ]


def test_evidence_of_the_kiln_job() -> None:
    record = fold(kiln_job())
    failed = next(reading for reading in record.readings if reading.statement == "fail")
    assert (failed.heard_text, failed.clip) == ("rail three point three reads four point oh", "clips/000007.flac")
    [note] = record.notes
    assert (note.text, note.verified, note.clip, note.stage) == (
        "the regulator runs hot",
        False,
        "clips/000019.flac",
        "before",
    )
    [question] = record.questions
    assert (question.ended, question.why_ended, question.answer) == ("lapsed", "another reading came", None)
    assert question.offered == ("rail 5: 15 V", "rail 5: 50 V")
    assert question.clip == "clips/000009.flac"
    assert "so anyway" not in record.model_dump_json()  # talk that was not meant for us is counted, not repeated


def test_the_kiln_jobs_timeline() -> None:
    assert [row.what for row in fold(kiln_job()).timeline] == [
        "Opened, before the repair",
        "input: 24.1 V, pass",
        "rail 5: 5.02 V, pass",
        "rail 3.3: 4.0 V, fail, high",
        "Fifteen or fifty?",
        "Not answered: Fifteen or fifty? (another reading came)",
        "rail 5: 5.03 V, pass",
        "correction 5.01 V",
        "Withdrawn: rail 5 5.03 V",
        "rail 5: 5.01 V, pass",
        "the regulator runs hot",
        "Closed: by a signal",
        "Taken up again, after the repair",
        "rail 3.3: 3.31 V, pass",
        "rail 3.3 to ground: over range, pass",
        "Closed: by voice",
    ]


# --- single rules -------------------------------------------------------------------------------------------------
def test_striking_the_latest_makes_the_one_before_count_again() -> None:
    s = Story()
    s.opened()
    first, second = s.reading("rail 5", "5.00"), s.reading("rail 5", "5.30", "fail", direction="high")
    s.withdrawn(second)
    rail = fold(s.events).points[1]
    assert rail.before is not None
    assert (rail.before.seq, rail.before.value) == (first, "5.00")
    s.withdrawn(first)
    record = fold(s.events)
    assert record.points[1].before is None
    assert record.counts.readings == 0
    assert [r.status for r in record.readings] == ["withdrawn", "withdrawn"]


def test_a_correction_whose_withdrawal_was_lost_still_replaces() -> None:
    s = Story()
    s.opened()
    first = s.reading("rail 5", "5.30", "fail")
    s.reading("rail 3.3", "3.30", corrects=first)
    record = fold(s.events)
    assert [r.status for r in record.readings] == ["corrected", "current"]


@pytest.mark.parametrize(
    ("then", "ended", "answer"),
    [
        (lambda s, _: s.reading("rail 5", "15", "fail"), "answered", "rail 5: 15 V"),
        (lambda s, _: s.asked("Fifteen?", tries=1), "asked again", None),
        (lambda s, asked: s.lapsed(asked, "declined"), "lapsed", None),
        (lambda s, asked: (s.reading("input", "24.0"), s.lapsed(asked)), "lapsed", None),
        (lambda s, asked: (s.lapsed(asked), s.reading("input", "24.0")), "lapsed", None),
        (lambda s, _: s.command("repeat"), "open", None),
        (lambda s, _: s.command("strike"), "answered", "strike"),
    ],
)
def test_how_a_question_ends(then: Callable[[Story, int], object], ended: str, answer: str | None) -> None:
    s = Story()
    s.opened()
    s.heard("rail five reads fifty", "asked")
    asked = s.asked(
        "Fifteen or fifty?", ReadingCandidate(point="rail 5", value="15", unit="V"), ReadingCandidate(command="strike")
    )
    s.heard("yes")
    then(s, asked)
    question = fold(s.events).questions[0]
    assert (question.ended, question.answer) == (ended, answer)


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        (("4.0", "V"), ("3.31", "V"), "-0.69"),
        (("4.0", "V"), ("3310", "mV"), "-690"),
        (("3310", "mV"), ("4.0", "V"), "+0.690"),
        (("-11.50", "V"), ("-12.00", "V"), "-0.50"),
        (("over range", "V"), ("5.0", "V"), None),
        (("5.0", "V"), ("5.0", "ohm"), None),
        (("5", "V"), ("5", "V"), "+0"),
    ],
)
def test_change_from_before_to_after(before: tuple[str, str], after: tuple[str, str], change: str | None) -> None:
    s = Story()
    s.opened()
    s.reading("rail 5", before[0], unit=before[1])
    s.reading("rail 5", after[0], unit=after[1], stage="after")
    assert fold(s.events).points[1].change == change


def test_correcting_an_earlier_stage_does_not_turn_the_clock_back() -> None:
    s = Story()
    s.opened()
    first = s.reading("rail 5", "5.30", "fail")
    s.heard("after the repair")
    s.command("after")
    s.heard("correction five point one three")
    s.command("correction")
    s.withdrawn(first)
    s.reading("rail 5", "5.13", corrects=first)
    s.heard("note fan is quiet")
    s.note("fan is quiet")
    assert fold(s.events).notes[0].stage == "after"


def test_fault_codes_have_no_difference() -> None:
    s = Story()
    s.opened()
    s.reading("code", "0103", "recorded", quantity="digits", unit="")
    s.reading("code", "0100", "recorded", quantity="digits", unit="", stage="after")
    [code] = [point for point in fold(s.events).points if point.name == "code"]
    assert code.change is None
    assert code.after is not None
    assert code.after.value == "0100"


def test_another_board_file_or_meter_is_remarked() -> None:
    s = Story()
    s.opened()
    s.reading("rail 5", "5.0")
    s.opened(resumed=True, board_sha256="ef" * 32, meter=None, points=POINTS[:1])
    record = fold(s.events)
    assert record.remarks == (
        "The board file was changed between sessions; each reading keeps the limits it was judged by.",
        "The meter was changed between sessions; each reading keeps its own uncertainty.",
    )
    assert [point.name for point in record.points] == ["input", "rail 5"]  # nothing measured is dropped
    assert record.not_read[0].points == ("input",)


def test_no_events_make_an_empty_record() -> None:
    assert fold([]) == JobRecord(counts=fold([]).counts)
    assert fold([]).opened_at is None


# --- any events ---------------------------------------------------------------------------------------------------
@st.composite
def stories(draw: st.DrawFn) -> list[Event]:
    """Any journal at all, sensible or not: references may point anywhere."""
    s = Story()
    s.opened()
    values = st.sampled_from(["5.0", "-5.0", "over range", "0103", "4.70"])
    anywhere = st.integers(1, 30)
    moves: dict[str, Callable[[], Any]] = {
        "reading": lambda: s.reading(
            draw(st.sampled_from([*POINT_NAMES, "elsewhere"])),
            draw(values),
            stage=draw(st.sampled_from(["before", "after"])),
            corrects=draw(st.none() | anywhere),
        ),
        "heard": lambda: s.heard(draw(st.text(max_size=8)), draw(st.sampled_from(["accepted", "asked", "ignored"]))),
        "withdrawn": lambda: s.withdrawn(draw(anywhere)),
        "asked": lambda: s.asked("What?", ReadingCandidate(point="rail 5", value="5", unit="V")),
        "lapsed": lambda: s.lapsed(draw(anywhere)),
        "command": lambda: s.command(draw(st.sampled_from(["after", "before", "repeat", "strike"]))),
        "note": lambda: s.note(draw(st.text(max_size=8)), verified=draw(st.booleans())),
        "opened": lambda: s.opened(resumed=True, stage=draw(st.sampled_from(["before", "after"]))),
        "said": lambda: s.said("Pass."),
        "closed": s.closed,
    }
    for name in draw(st.lists(st.sampled_from(list(moves)), max_size=25)):
        moves[name]()
    return s.events


@settings(deadline=None)
@given(stories())
def test_every_prefix_has_a_record_that_survives_json_and_meets_the_schema(events: list[Event]) -> None:
    validator = jsonschema.Draft202012Validator(record_schema())
    for length in range(len(events) + 1):
        record = fold(events[:length])
        text = record.model_dump_json()
        assert JobRecord.model_validate_json(text) == record
    validator.validate(json.loads(text))


@settings(deadline=None)
@given(stories())
def test_what_was_withdrawn_never_counts(events: list[Event]) -> None:
    record = fold(events)
    withdrawn = {event.reading for event in events if event.kind == "withdrawn" and event.reading < event.seq}
    counted = [r for point in record.points for r in (point.before, point.after) if r is not None]
    assert not withdrawn & {reading.seq for reading in counted}
    assert sorted(reading.seq for reading in counted) == [r.seq for r in record.readings if r.status == "current"]
    assert record.counts.readings == len(counted) == sum(record.counts.statements.values())
    assert [r.seq for r in record.readings] == [event.seq for event in events if event.kind == "reading"]


@settings(deadline=None)
@given(stories())
def test_each_point_shows_its_latest_reading_that_stands(events: list[Event]) -> None:
    # the same rule told backwards: walk from the end, the first reading of a place that nothing ended is the one
    readings = [event for event in events if event.kind == "reading"]
    # only what stands before it can be withdrawn or corrected
    ended = {event.reading for event in events if event.kind == "withdrawn" and event.reading < event.seq}
    ended |= {reading.corrects for reading in readings if reading.corrects and reading.corrects < reading.seq}
    expected: dict[tuple[str, str], int] = {}
    for reading in reversed(readings):
        if reading.seq not in ended:
            expected.setdefault((reading.point, reading.stage), reading.seq)
    shown = {(p.name, r.stage): r.seq for p in fold(events).points for r in (p.before, p.after) if r is not None}
    assert shown == expected


@settings(deadline=None)
@given(st.permutations(POINT_NAMES), st.lists(st.sampled_from(["5.0", "4.70", "5.31"]), min_size=5, max_size=5))
def test_the_order_in_which_points_are_read_does_not_matter(order: list[str], values: list[str]) -> None:
    def points(names: list[str]) -> list[tuple[str, str | None]]:
        s = Story()
        s.opened()
        for name in names:
            s.reading(name, values[POINT_NAMES.index(name)])
        return [(point.name, point.before.value if point.before else None) for point in fold(s.events).points]

    assert points(order) == points(POINT_NAMES)


@given(st.decimals(-9999, 9999, places=3), st.decimals(-9999, 9999, places=2))
def test_change_is_exact(first: Decimal, second: Decimal) -> None:
    s = Story()
    s.opened()
    s.reading("rail 5", str(first))
    s.reading("rail 5", str(second), stage="after")
    change = fold(s.events).points[1].change
    assert change is not None
    assert first + Decimal(change) == second


def test_events_that_can_be_gone_through_only_once_are_refused() -> None:
    with pytest.raises(TypeError, match="events are gone through twice"):
        fold(iter(kiln_job()))


class Growing:
    """A journal that another process writes to while it is read: each pass finds more."""

    def __init__(self, events: list[Event]) -> None:
        self.events = events
        self.passes = 0

    def __iter__(self) -> Iterator[Event]:
        self.passes += 1
        return iter(self.events[: 9 + 8 * self.passes])


def test_a_journal_that_grows_between_the_passes_has_the_record_of_the_first() -> None:
    assert fold(Growing(kiln_job())) == fold(kiln_job()[:17])


class Long:
    """Events of a job of any length, made anew on each pass."""

    def __init__(self, n_readings: int) -> None:
        self.n_readings = n_readings

    def __iter__(self) -> Iterator[Event]:
        s = Story()
        s.opened()
        opened, heard, reading = s.events[0], s.heard("rail five reads five"), s.reading("rail 5", "5.0")
        yield opened
        for number in range(self.n_readings):
            yield s.events[heard - 1].model_copy(update={"seq": 2 + 2 * number})
            fields = {"seq": 3 + 2 * number, "heard": 2 + 2 * number, "point": f"rail {number % 5}"}
            yield s.events[reading - 1].model_copy(update=fields)


def test_a_long_job_takes_hardly_more_memory_than_a_short_one() -> None:
    def peak_bytes(n_readings: int) -> int:
        tracemalloc.start()
        try:
            folding = JobFold(Long(n_readings))
            n_rows = sum(1 for _ in folding.rows())
            assert n_rows == 2 * n_readings + 1
            assert folding.summary().counts.readings == 5
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    peak_bytes(100)  # what is made once and kept
    grown = peak_bytes(6000) - peak_bytes(1000)
    assert grown < 60 * 5000  # a row alone has a thousand


def test_a_declined_question_was_answered() -> None:
    s = Story()
    s.opened()
    s.heard("rail five reads fifty", "asked")
    asked = s.asked("Fifty?", ReadingCandidate(point="rail 5", value="50", unit="V"))
    s.heard("no")
    s.command("no")
    s.lapsed(asked, "declined")
    record = fold(s.events)
    [question] = record.questions
    assert (question.ended, question.answer, question.why_ended) == ("answered", "no", "declined")
    assert record.timeline[-1].what == "Declined: Fifty? (declined)"


# --- format -------------------------------------------------------------------------------------------------------
def test_the_schema_is_sound_and_the_published_file_is_the_same() -> None:
    schema = record_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    published = Path(__file__).parents[2] / "benchvoice" / "keep" / "job_record.schema.json"
    assert json.loads(published.read_text(encoding="utf-8")) == schema


def test_the_schema_refuses_a_number_where_digits_belong() -> None:
    fields = json.loads(fold(kiln_job()).model_dump_json())
    jsonschema.Draft202012Validator(record_schema()).validate(fields)
    fields["readings"][0]["value"] = 24.1
    with pytest.raises(jsonschema.ValidationError, match=r"24\.1 is not of type 'string'"):
        jsonschema.Draft202012Validator(record_schema()).validate(fields)


def test_integrity_is_added_and_nothing_else() -> None:
    record = fold(kiln_job())
    integrity = Integrity(lines=26, torn=TornLine(line=27, n_bytes=14))
    assert with_integrity(record, integrity) == record.model_copy(update={"integrity": integrity})


def test_what_happened_to_a_device_stands_in_the_timeline() -> None:
    story = Story()
    story.opened()
    story.device("bench microphone", "lost", why="it was unplugged")
    story.device("bench microphone", "dropped", lost_s=0.25)
    story.device("bench microphone", "back")
    rows = [row.what for row in fold(story.events).timeline if row.kind == "device"]
    assert rows == [
        "bench microphone: lost (it was unplugged)",
        "bench microphone: sound was lost, 0.2 s",
        "bench microphone: back",
    ]
