"""Events are a published format: every field survives its round trip through JSON, and strangers are refused."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from benchvoice.events import (
    EVENTS,
    Acknowledged,
    Asked,
    Careful,
    Caution,
    ChecklistStep,
    Closed,
    Command,
    Device,
    Event,
    GoodComparison,
    Heard,
    HeardAlternative,
    Intake,
    KnownGood,
    KnownGoodReading,
    Lapsed,
    LeftOut,
    ListedCheck,
    MeterInUse,
    Note,
    Opened,
    OpenedAlike,
    OpenedPart,
    OpenedPoint,
    OpenedSupply,
    Reading,
    ReadingCandidate,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Said,
    Substituted,
    ThingSaid,
    TimerOver,
    TimerStarted,
    TimerStopped,
    Undone,
    UnitClosed,
    Withdrawn,
    WorkSaid,
)
from benchvoice.records import Outcome, Statement

KINDS: tuple[type[BaseModel], ...] = get_args(get_args(Event)[0])
NOW = datetime(2024, 5, 1, 10, 30, 0, 250_000, tzinfo=UTC)

# The names that the design fixes for every kind of event; more may be added, none may go or change its name.
FIXED = {
    "heard": {"source", "text", "alternatives", "start_s", "end_s", "engine", "clip", "outcome", "why"},
    "reading": {
        *("heard", "point", "quantity", "value", "unit", "low", "high", "uncertainty", "probability", "statement"),
        *("direction", "stage"),
    },
    "asked": {"heard", "question", "why", "candidates"},
    "command": {"heard", "name"},
    "note": {"heard", "text", "clip"},
    "withdrawn": {"reading"},
    "opened": set(),
    "said": set(),
    "closed": set(),
    "lapsed": set(),
    "device": set(),
    "step": set(),
    "removed": {"heard", "thing"},
    "refitted": {"heard", "removed", "count"},
    "replaced": {"heard", "ref", "value", "unit"},
    "reworked": {"heard", "ref", "act", "text"},
    "careful": {"heard", "text"},
    "substituted": {"heard", "what", "outcome", "stage"},
    "left out": {"heard", "removed", "why"},
    "unit closed": {"heard"},
    "undone": {"heard", "undoes"},
    "intake": {"heard", "what", "text"},
    "caution": {"heard", "hazard", "about", "why", "volts", "joules", "safe_volts", "seconds"},
    "acknowledged": {"heard", "cautions"},
    "timer started": {"heard", "name", "seconds", "due"},
    "timer stopped": {"heard", "timer", "why"},
    "timer over": {"timer", "name", "late_s"},
}
SCREWS = ThingSaid(kind="fastener", name="screw", count=4, size="M3 by 8", length="long", place="top edge", what="x")

# One of each with every field away from its default, so that a lost field shows.
EVERY_FIELD: list[Event] = [
    Opened(
        seq=1,
        at=NOW,
        job="kiln-7",
        board="KC-1 kiln controller",
        revision="B",
        board_sha256="ab" * 32,
        points=(
            OpenedPoint(
                name="r",
                quantity="voltage",
                unit="V",
                nominal="5",
                low="4.75",
                high="5.25",
                source="x",
                expected="continuity",
                computed="q in ratio to p",
            ),
        ),
        supplies=(OpenedSupply(point="r", fed_by="q", through=("U1",), loads=("C1",), load_of="q"),),
        parts=(OpenedPart(ref="U1", what="regulator", fails="often"),),
        alike=(OpenedAlike(points=("r", "q"), within="5"),),
        known_good=KnownGood(
            job="good-1",
            board="KC-1 kiln controller",
            readings=(KnownGoodReading(point="q", value="0.62", unit="V", uncertainty="0.0058"),),
        ),
        meter=MeterInUse(name="bench meter", sha256="cd" * 32),
        stage="after",
        complaint="does not heat",
        serial="0042",
        technician="bench two",
        engine="panel",
        version="0.1.0",
        resumed=True,
        visit=2,
        utc_offset_min=-210,
    ),
    Heard(
        seq=2,
        at=NOW,
        source="visit.flac",
        text="rail five reads five point oh two",
        alternatives=(HeardAlternative(text="rail five reads five point oh two", score=-12.5),),
        start_s=1.25,
        end_s=3.5,
        engine="panel",
        clip="clips/000002.flac",
        outcome="accepted",
        why="sphinx and network agree",
        remarks=("clipped",),
        leaves_point=True,
        leaves_part=True,
    ),
    Reading(
        seq=3,
        at=NOW,
        heard=2,
        point="rail 5",
        quantity="voltage",
        value="5.020",
        unit="V",
        waveform="DC",
        low="4.75",
        high="5.25",
        nominal="5",
        uncertainty="0.046",
        probability="1.0000",
        deviation="0.020",
        deviation_percent="0.40",
        statement="pass",
        direction="high",
        stage="before",
        basis="meter and spoken digits",
        corrects=1,
        expected="continuity",
        responds="average",
        shape="square",
        known_good=GoodComparison(value="0.62", unit="V", percent="-11.3", within="10", unlike=True),
        follows_from=(1, 2),
    ),
    Asked(
        seq=4,
        at=NOW,
        heard=2,
        question="Fifteen or fifty?",
        why="not heard clearly",
        candidates=(
            ReadingCandidate(
                point="rail 15",
                value="15",
                unit="V",
                unit_said=True,
                waveform="DC",
                command="correction",
                detail="x",
                work=WorkSaid(act="value", thing=SCREWS, text="x", value="4.7", unit="kohm", name="x", means="x"),
            ),
        ),
        tries=1,
    ),
    Lapsed(seq=5, at=NOW, asked=4, why="declined"),
    Command(seq=6, at=NOW, heard=2, name="correction", point="rail 5", value="5.0", unit="V"),
    Note(seq=7, at=NOW, heard=2, text="capacitor bulging", clip="clips/000007.flac", verified=False),
    Withdrawn(seq=8, at=NOW, heard=2, reading=3, why="speech went on"),
    Said(seq=9, at=NOW, text="Pass. Five point zero two.", tone="pass"),
    Closed(seq=10, at=NOW, why="by voice"),
    Device(seq=11, at=NOW, device="bench microphone", state="dropped", why="the machine was busy", lost_s=0.5),
    ChecklistStep(
        seq=12,
        at=NOW,
        heard=2,
        action="skipped",
        number=3,
        step="measure rail 5",
        part="rails",
        outcome="fail, high",
        reason="it is not fitted",
        reading=3,
        to="measure rail 3.3",
        passed=("measure fan current: does not apply",),
        over=(4,),
        sha256="ef" * 32,
        checks=(ListedCheck(number=5, step="Does it turn?", part="load", proof="function test", expected="yes"),),
    ),
    Removed(seq=12, at=NOW, heard=2, thing=SCREWS),
    Refitted(seq=13, at=NOW, heard=2, removed=12, count=2, again=("rail 3.3",)),
    Replaced(
        seq=14, at=NOW, heard=2, ref="R7", what="shunt", removed=12, value="4.70", unit="kohm", again=("rail 3.3",)
    ),
    Substituted(seq=15, at=NOW, heard=2, what="fuse", ref="F1", outcome="no change", stage="before"),
    Reworked(seq=15, at=NOW, heard=2, ref="R7", act="method", text="hot air", value="4.70", unit="kohm"),
    Careful(seq=16, at=NOW, heard=2, text="cable under the lid", name="lid"),
    LeftOut(seq=17, at=NOW, heard=2, removed=(12,), why="stripped"),
    UnitClosed(seq=18, at=NOW, heard=2),
    Undone(seq=19, at=NOW, heard=2, undoes=(13, 14)),
    Intake(
        seq=19,
        at=NOW,
        heard=2,
        what="indicator",
        text="2 short, 1 long",
        name="front lamp",
        means="output overload",
        unlisted=True,
        clip="clips/000002.flac",
        verified=False,
    ),
    Caution(
        seq=20,
        at=NOW,
        heard=2,
        hazard="capacitor",
        about="C1",
        why="the supply was disconnected",
        volts="400",
        joules="37.6",
        safe_volts="50",
        seconds="9.77",
    ),
    Acknowledged(seq=21, at=NOW, heard=2, cautions=(20,)),
    TimerStarted(seq=22, at=NOW, heard=2, name="soak test timer", seconds=600, due=NOW),
    TimerStopped(seq=23, at=NOW, heard=2, timer=22, why="by voice"),
    TimerOver(seq=24, at=NOW, timer=22, name="soak test timer", late_s=3),
]


def test_every_kind_is_here_with_every_field_set() -> None:
    assert {type(event) for event in EVERY_FIELD} == set(KINDS)
    for event in EVERY_FIELD:
        for name, field in type(event).model_fields.items():
            assert name == "kind" or field.is_required() or getattr(event, name) != field.default, (
                f"{event.kind}.{name}"
            )


@pytest.mark.parametrize("event", EVERY_FIELD, ids=lambda event: event.kind)
def test_every_field_survives_json(event: Event) -> None:
    line = EVENTS.dump_json(event)
    assert b"\n" not in line
    assert set(json.loads(line)) == set(type(event).model_fields)
    assert EVENTS.validate_json(line) == event
    assert EVENTS.dump_json(EVENTS.validate_json(line)) == line


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_fixed_names_are_there(kind: type[BaseModel]) -> None:
    name = kind.model_fields["kind"].default
    assert {"seq", "at", "kind"} | FIXED[name] <= set(kind.model_fields)


st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@given(data=st.data())
def test_any_event_survives_json(kind: type[BaseModel], data: st.DataObject) -> None:
    """Built from the types alone: any text, any time, any number that JSON can hold (it has no infinity)."""
    event: Any = data.draw(st.from_type(kind))
    again = EVENTS.validate_json(EVENTS.dump_json(event))
    assert again == event
    assert type(again) is type(event)
    assert EVENTS.validate_python(json.loads(EVENTS.dump_json(event))) == event


@pytest.mark.parametrize("number", [float("inf"), float("nan")])
def test_a_number_that_json_cannot_hold_is_refused(number: float) -> None:
    with pytest.raises(ValidationError, match="finite number"):
        HeardAlternative(text="five", score=number)


def _field(event: Event, name: str) -> Any:
    return json.loads(EVENTS.dump_json(event))[name]


def test_measured_numbers_are_strings_with_their_digits() -> None:
    reading = EVERY_FIELD[2]
    assert _field(reading, "value") == "5.020"
    for name in ("low", "high", "nominal", "uncertainty", "probability", "deviation", "deviation_percent"):
        assert isinstance(_field(reading, name), str)
    with pytest.raises(ValidationError, match=r"(?s)value.*valid string"):
        EVENTS.validate_python({**json.loads(EVENTS.dump_json(reading)), "value": 5.02})


def test_time_keeps_its_offset() -> None:
    """RFC 3339 writes UTC as Z."""
    assert _field(EVERY_FIELD[-1], "at") == "2024-05-01T10:30:00.250000Z"
    east = Closed(seq=1, at=NOW.astimezone(timezone(timedelta(hours=5, minutes=30))), why="x")
    assert EVENTS.validate_json(EVENTS.dump_json(east)).at == NOW


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"kind": "dance"}, "does not match any of the expected tags"),
        ({"kind": None}, "does not match any of the expected tags"),
        ({"seq": 0}, "greater than or equal to 1"),
        ({"at": "yesterday"}, "valid datetime"),
        ({"outcome": "maybe"}, "'accepted', 'asked' or 'ignored'"),
        ({"mood": "good"}, "Extra inputs are not permitted"),
        ({"text": None}, "valid string"),
    ],
)
def test_what_is_no_event_is_refused(change: dict[str, Any], message: str) -> None:
    heard = json.loads(EVENTS.dump_json(EVERY_FIELD[1]))
    with pytest.raises(ValidationError, match=message):
        EVENTS.validate_python({**heard, **change})


@pytest.mark.parametrize("event", EVERY_FIELD, ids=lambda event: event.kind)
def test_events_cannot_be_changed(event: Event) -> None:
    with pytest.raises(ValidationError, match="frozen"):
        event.seq = 99


def test_names_of_outcomes_and_statements_are_those_of_the_records() -> None:
    assert set(get_args(Heard.model_fields["outcome"].annotation)) == set(Outcome)
    assert set(get_args(Reading.model_fields["statement"].annotation)) == set(Statement)
