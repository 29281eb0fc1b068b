"""The checklist in the session: what is said to it, what it says next, and that the journal alone brings it back."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.checklist import power_told
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import read_board, read_meter
from benchvoice.decide.session import SessionState, open_session, reopen, resume, said, step, take_back
from benchvoice.decide.turn import Step
from benchvoice.events import EVENTS, Asked, ChecklistStep, Event, Heard, Reading, Withdrawn
from benchvoice.records import (
    WITHOUT_POWER,
    CommandIntent,
    Hearing,
    Intent,
    Outcome,
    Parse,
    ReadingIntent,
    SpokenValue,
    StepTold,
    Thing,
    Trust,
    WorkIntent,
)
from tests.decide.builders import METER, START, answer, command, go_to, hearing, reading, value
from tests.decide.checklists import BOARD_READ, CHECKLISTS, read

ACCEPTED, ASKED, IGNORED = Outcome.ACCEPTED, Outcome.ASKED, Outcome.IGNORED
YES, NO = answer("yes"), answer("no")
NEXT, BACK, SKIP = command("next"), command("back"), command("skip")


def reason(words: str = "it is not fitted") -> CommandIntent:
    return CommandIntent("reason", detail=words)


def choice(words: str) -> CommandIntent:
    return CommandIntent("choice", detail=words)


class Guided:
    """A session that goes through a checklist, with its journal; each utterance begins four seconds after the last."""

    def __init__(self, checklist: Checklist | None = None) -> None:
        self.checklist = checklist or read()
        self.state, opened = open_session(
            BOARD_READ, None, at=START, job="job-7", engine="panel", version="0.1.0", checklist=self.checklist
        )
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def hear(self, *meanings: Any, trust: Trust = Trust.AGREED, pause_s: int = 4, **more: Any) -> Step:
        self.seconds += pause_s
        return self.take(hearing(*meanings, trust=trust, after_s=self.seconds, **more))

    def type(self, *meanings: Any) -> Step:
        return self.hear(*meanings, trust=Trust.TYPED)

    def take(self, heard: Hearing) -> Step:
        done = step(self.state, heard, word_question=lambda decision: f"{len(decision.candidates)} candidates?")
        self.state = done.state
        self.journal += done.events
        assert resume(BOARD_READ, None, self.journal, self.checklist) == self.state
        return done

    def at(self) -> str:
        progress = self.state.progress
        assert progress is not None
        return "end" if progress.step is None else progress.step.label + " ?" * progress.place.asks_power


def to_the_rails() -> Guided:
    """At "measure rail 5"."""
    bench = Guided()
    for said_ in (NEXT, YES, YES, reading(None, "470", "ohm"), NEXT, YES):
        bench.type(said_)
    assert bench.at() == "measure rail 5"
    return bench


def kinds(done: Step) -> list[str]:
    return [
        f"{event.kind} {event.action}"
        if isinstance(event, ChecklistStep)
        else f"command {event.name}"
        if event.kind == "command"
        else event.kind
        for event in done.events
    ]


# --- inspections ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("step", "stays"),
    [
        ("{inspect: No charge left}", True),
        ("{inspect: No charge left, if: {pass: next}}", True),
        ("{inspect: No charge left, if: {skipped: next}}", True),
        ("{inspect: No charge left, if: {fail: next}}", False),
        ("{inspect: No charge left, if: {else: next}}", False),
        ("{name: a, inspect: Cord sound, proof: safety check}", False),  # the record is to show its fail
        ("{ask: Is there smoke}", False),
    ],
)
def test_an_inspection_that_fails_is_not_gone_past_as_if_it_had_passed(step: str, stays: bool) -> None:
    bench = Guided(read(f"checklist: a\nsteps:\n  - {step}\n  - {{measure: rail 5}}\n"))
    first = bench.at()
    done = bench.type(NO)
    assert (bench.at() == first) == stays
    if stays:
        assert (done.decision.about, done.decision.why) == ("step again", "put it right and say yes, or skip the step")
        bench.type(YES)
        assert bench.at() != first


# --- opening --------------------------------------------------------------------------------------------------------
def test_a_session_begins_its_checklist() -> None:
    bench = Guided()
    assert [event.kind for event in bench.journal] == ["opened", "step"]
    begun = bench.journal[1]
    assert isinstance(begun, ChecklistStep)
    assert (begun.action, begun.outcome, begun.to) == ("started", "First look", "Disconnect the supply.")
    assert begun.sha256 == bench.checklist.sha256


def test_the_journal_holds_what_proof_proof_and_what_was_passed_over() -> None:
    checklist = read(
        "checklist: a\nsteps:\n"
        "  - {name: look, inspect: Fan, only: after}\n"
        "  - {name: run, ask: Does it turn, proof: function test, expected: yes}\n"
    )
    begun = Guided(checklist).journal[1]
    assert isinstance(begun, ChecklistStep)
    assert begun.over == (0,)
    assert [(check.number, check.step, check.part, check.proof, check.expected) for check in begun.checks] == [
        (1, "Does it turn", "run", "function test", "yes")
    ]


def test_a_job_that_is_taken_up_again_goes_on_and_asks_for_the_supply_anew() -> None:
    bench = Guided()
    bench.type(NEXT)
    bench.type(YES)
    assert bench.at() == "No charge left in the input capacitor"
    state, events = reopen(bench.state, at=START, job="job-7", engine="panel", version="0.1.0")
    assert [event.kind for event in events] == ["opened"]
    assert state.progress is not None
    assert (state.progress.place.power, state.progress.place.asks_power) == (None, True)
    assert state.progress.place.at == 2
    bench.state = state
    bench.journal += events
    bench.type(BACK)  # what was told of the supply in the earlier session is not believed on the way back either
    assert bench.at() == "No charge left in the input capacitor ?"


SUB_LIST = """\
checklist: cold tests
steps:
  - do: cold
    {state}
lists:
  cold:
    - say: Look for burns.
    - say: Smell at it.
    - ask: Is the fuse whole?
"""


@pytest.mark.parametrize(
    ("state", "said_", "asked"),
    [
        ("needs: unpowered", YES, "Smell at it."),
        ("needs: unpowered", NO, "Smell at it. ?"),  # it waits until the supply is off
        ("only: unpowered", YES, "Smell at it."),
        ("only: unpowered", NO, "end"),  # nothing in the list applies any more
    ],
)
def test_in_the_middle_of_a_sub_list_the_supply_is_asked_anew_too(state: str, said_: Intent, asked: str) -> None:
    bench = Guided(read(SUB_LIST.format(state=state)))
    bench.type(YES)
    bench.type(NEXT)
    assert bench.at() == "Smell at it."
    bench.state, events = reopen(bench.state, at=START, job="job-7", engine="panel", version="0.1.0")
    bench.journal += events
    assert bench.at() == "Smell at it. ?"
    bench.type(NEXT)
    assert bench.at() == "Smell at it. ?"
    bench.type(said_)
    assert bench.at() == asked


def test_another_checklist_begins_anew() -> None:
    bench = to_the_rails()
    other = read("checklist: other\nsteps: [{say: Look at it}]\n")
    state = resume(BOARD_READ, None, bench.journal, other)
    assert state.progress is None
    state, events = reopen(state, at=START, job="job-7", engine="panel", version="0.1.0")
    assert [event.kind for event in events] == ["opened", "step"]
    assert state.progress is not None
    assert state.progress.place.at == 0


def test_without_a_checklist_its_commands_are_refused_and_its_events_ignored() -> None:
    bench = to_the_rails()
    state = resume(BOARD_READ, None, bench.journal)
    assert state.progress is None
    done = step(state, hearing(NEXT, after_s=100), word_question=lambda _: "?")
    assert (done.decision.about, done.decision.why) == ("refused", "there is no checklist")
    done = step(state, hearing(reason(), after_s=100), word_question=lambda _: "?")
    assert done.decision.about == "nothing"


# --- measuring ------------------------------------------------------------------------------------------------------
def test_a_value_alone_answers_the_step_that_measures() -> None:
    bench = to_the_rails()
    assert bench.state.context.current == "rail 5"
    done = bench.hear(reading(None, "5.02"))
    assert kinds(done) == ["heard", "reading", "step measured"]
    taken = done.events[-1]
    assert isinstance(taken, ChecklistStep)
    assert (taken.step, taken.outcome, taken.reading) == ("measure rail 5", "pass", done.events[1].seq)
    assert done.decision.step == StepTold(
        "ask", "What does the lamp do?", None, ("dark", "steady light", "blinking"), part="lamp", number=8, of=14
    )
    assert bench.state.context.current is None


def test_the_branch_follows_the_verdict() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "6.1"))
    assert bench.at() == "Turn the trimmer a little."


def test_another_points_reading_answers_nothing() -> None:
    bench = to_the_rails()
    done = bench.hear(reading("input", "24.1"))
    assert kinds(done) == ["heard", "reading"]
    assert bench.at() == "measure rail 5"
    assert bench.state.context.current is None  # where the probe goes next is not known
    bench.hear(command("where"))
    assert bench.state.context.current == "rail 5"


def test_a_reading_counts_but_not_for_the_step_while_the_supply_is_asked_about() -> None:
    bench = Guided(read("checklist: a\nsteps:\n  - {measure: rail 5, needs: powered}\n  - {say: Go on}\n"))
    done = bench.type(reading("rail 5", "5.02"))
    assert kinds(done) == ["heard", "reading"]
    assert done.decision.step is not None
    assert (done.decision.step.kind, done.decision.step.power) == ("power", "powered")


def test_a_rail_that_is_read_while_the_supply_is_asked_about_is_asked_too_and_yes_answers_both() -> None:
    bench = Guided()
    for meant in (NEXT, YES, YES, reading(None, "470", "ohm"), NEXT):
        bench.type(meant)
    done = bench.type(reading("rail 5", "5.02"))
    assert (kinds(done), done.decision.why) == (["heard", "asked"], WITHOUT_POWER)
    done = bench.type(YES)
    assert kinds(done) == ["heard", "step power", "command powered", "reading", "step measured"]
    assert bench.state.power == "powered"
    assert done.decision.step is not None
    assert done.decision.step.kind != "power"


def test_over_range_that_says_nothing_of_the_limits_answers_nothing() -> None:
    """The meter ends at 60 V, the limits at 110 V."""
    board = read_board("board: a\npoints: [{name: bus, nominal: 100 V, tolerance: 10 %}]\n", "b.yaml")
    text = "checklist: a\nsteps: [{measure: bus, if: {fail: end}}, {say: Go on}]\n"
    checklist = read_checklist(text, "list.yaml", board)
    meter = read_meter(METER, "meter.yaml")
    state, _ = open_session(board, meter, at=START, job="j", engine="e", version="0", checklist=checklist)
    done = step(state, hearing(reading(None, "over range")), word_question=lambda _: "?")
    assert kinds(done) == ["heard", "reading", "caution"]  # 100 V is commonly held hazardous
    assert done.decision.step is not None
    assert done.decision.step.point == "bus"


def test_a_struck_reading_brings_its_step_back() -> None:
    bench = to_the_rails()
    before = bench.state.progress
    bench.hear(reading(None, "6.1"))
    done = bench.hear(command("strike"))
    assert kinds(done) == ["heard", "command strike", "withdrawn", "step back"]
    assert bench.state.progress == before
    assert bench.state.context.current == "rail 5"
    assert done.decision.step is not None
    assert done.decision.step.point == "rail 5"


def test_a_corrected_reading_takes_the_right_branch() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "6.1"))
    done = bench.type(command("correction", of=value("5.1")))
    assert kinds(done) == ["heard", "command correction", "withdrawn", "step back", "reading", "step measured"]
    assert bench.at() == "What does the lamp do?"


def test_a_correction_names_what_has_gone_on_from_the_wrong_value() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "6.1"))
    bench.type(NEXT)
    assert bench.at() == "measure rail 5"
    done = bench.type(command("correction", "rail 5", value("5.1")))
    assert kinds(done) == ["heard", "command correction", "withdrawn", "reading"]
    assert done.decision.rests_on == "measure rail 5"
    assert bench.at() == "measure rail 5"


def test_speech_that_goes_on_takes_reading_and_step_back() -> None:
    bench = to_the_rails()
    before = bench.state.progress
    done = bench.hear(reading(None, "5.02"))
    state, events = take_back(bench.state, START, done.events, "speech went on")
    assert [event.kind for event in events] == ["withdrawn", "step"]
    assert isinstance(events[0], Withdrawn)
    assert state.progress == before
    assert state.readings.top is not None
    assert state.readings.top.point == "rail 3.3 to ground"


# --- answers --------------------------------------------------------------------------------------------------------
def test_yes_tells_the_supply_and_no_keeps_waiting() -> None:
    bench = Guided()
    bench.type(NEXT)
    done = bench.hear(NO)
    assert kinds(done) == ["heard", "step power"]
    assert bench.at() == "No charge left in the input capacitor ?"
    done = bench.hear(YES)
    assert isinstance(done.events[-1], ChecklistStep)
    assert done.events[-1].outcome == "unpowered"
    assert bench.at() == "No charge left in the input capacitor"


def test_a_choice_answers_by_its_words_or_its_place() -> None:
    for meant in (choice("steady light"), answer("second")):
        bench = to_the_rails()
        bench.hear(reading(None, "5.02"))
        assert bench.state.context.choices == ("dark", "steady light", "blinking")
        done = bench.hear(meant)
        assert kinds(done) == ["heard", "step answered"]
        assert done.decision.names == ("steady light",)
        assert bench.at() == "Electrolytic capacitors"
        assert not bench.state.context.choices


@pytest.mark.parametrize(
    ("meant", "why"),
    [
        (YES, "say one of the answers"),
        (choice("purple"), "that does not answer this step"),
        (NEXT, "this step waits for an answer"),
    ],
)
def test_what_does_not_answer_a_choice(meant: Intent, why: str) -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"))
    done = bench.hear(meant)
    assert (done.decision.about, done.decision.why) == ("refused", why)
    assert bench.at() == "What does the lamp do?"


def test_an_open_question_is_answered_before_the_step() -> None:
    bench = Guided()
    bench.type(NEXT)
    bench.hear(reading("rail 5", "50"))
    assert bench.state.question is not None
    done = bench.hear(NO)
    assert "command no" in kinds(done)
    assert bench.at() == "No charge left in the input capacitor ?"


def test_a_yes_of_another_talk_answers_nothing_long_after() -> None:
    bench = Guided()
    bench.type(NEXT)
    done = bench.hear(YES, pause_s=200)
    assert kinds(done) == ["heard", "command where"]
    assert bench.at() == "No charge left in the input capacitor ?"
    bench.hear(YES)
    assert bench.at() == "No charge left in the input capacitor"


def test_a_yes_to_a_question_that_was_let_go_does_not_answer_the_step() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"), pause_s=4)
    bench.hear(choice("steady light"))
    assert bench.at() == "Electrolytic capacitors"
    bench.hear(reading("rail 5", "50"))  # it is asked whether that is meant
    done = bench.hear(YES, pause_s=121)
    assert kinds(done) == ["heard", "lapsed", "command where"]
    assert bench.at() == "Electrolytic capacitors"
    bench.hear(YES)
    assert bench.at() == "wait 30 s: Let it warm up"


def test_a_yes_to_something_else_that_was_answered_is_none_to_the_step() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"))
    bench.hear(choice("steady light"))
    for other in (reading("fan current", "330", "mA"), command("left"), WorkIntent("out", Thing("cover", "lid"))):
        bench.hear(other)
        done = bench.hear(YES)
        assert (kinds(done), bench.at()) == (["heard", "command where"], "Electrolytic capacitors")
    bench.hear(command("repeat"))
    bench.hear(YES)
    assert bench.at() == "wait 30 s: Let it warm up"


def test_a_correction_without_a_point_is_only_of_what_was_just_read() -> None:
    text = "checklist: two\nsteps: [{measure: rail 5, only: before}, {measure: input}]\n"
    bench = Guided(read(text))
    bench.hear(reading(None, "5.02"))
    assert bench.at() == "measure input"
    done = bench.hear(command("correction", of=value("5.2")))
    assert (done.decision.about, done.decision.point) == ("correction", "rail 5")
    bench = Guided(read(text))
    bench.hear(reading(None, "5.02"))
    assert bench.hear(reading(None, "240")).decision.outcome is ASKED  # at the input
    bench.hear(NO)
    assert bench.hear(command("correction", of=value("5.2"))).decision.about == "refused"
    assert [event.value for event in bench.journal if isinstance(event, Reading)] == ["5.02"]


def test_a_choice_that_sounds_like_another_is_asked_and_its_question_ends_with_the_answer() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"))
    twin = (Parse("it is blinking", (choice("blinking"),)),)
    done = bench.take(replace(hearing(choice("dark"), after_s=bench.seconds + 4), twins=twin))
    assert (done.decision.outcome, done.decision.why) == (ASKED, "sounds like blinking")
    assert bench.at() == "What does the lamp do?"
    done = bench.hear(answer("second"), pause_s=8)
    assert kinds(done) == ["heard", "command choice", "step answered"]
    assert (bench.at(), bench.state.question) == ("Electrolytic capacitors", None)


def test_a_doubtful_answer_is_said_to_be_so() -> None:
    bench = Guided()
    bench.type(NEXT)
    done = bench.hear(YES, trust=Trust.DOUBTFUL, why="network hears no")
    assert (done.decision.outcome, done.decision.about, done.decision.why) == (IGNORED, "refused", "not heard clearly")
    (heard,) = done.events
    assert isinstance(heard, Heard)
    assert heard.why == "network hears no"
    assert bench.at() == "No charge left in the input capacitor ?"


# --- what moves the list --------------------------------------------------------------------------------------------
MOVES = [BACK, SKIP, CommandIntent("skip", detail="it is not fitted"), CommandIntent("jump", detail="lamp")]


@pytest.mark.parametrize("meant", [*MOVES, NEXT, choice("dark")])
@pytest.mark.parametrize("trust", [Trust.DOUBTFUL, Trust.UNRELATED])
def test_nothing_moves_on_one_doubtful_word(meant: CommandIntent, trust: Trust) -> None:
    bench = Guided()
    bench.type(NEXT)
    before = bench.state.progress
    done = bench.hear(meant, trust=trust)
    assert done.decision.outcome is not ACCEPTED
    assert bench.state.progress == before


@pytest.mark.parametrize("meant", MOVES)
def test_what_undoes_skips_or_leaves_is_asked_where_ears_heard_it(meant: CommandIntent) -> None:
    bench = Guided()
    bench.type(NEXT)
    before = bench.state.progress
    done = bench.hear(meant)
    assert done.decision.outcome is ASKED
    assert bench.state.progress == before
    if meant != SKIP:
        bench.hear(YES)
        assert bench.state.progress != before


@pytest.mark.parametrize("meant", MOVES)
def test_no_keeps_the_step(meant: CommandIntent) -> None:
    bench = Guided()
    bench.type(NEXT)
    before = bench.state.progress
    bench.hear(meant)
    bench.hear(NO)
    assert bench.state.progress == before
    assert bench.state.question is None


def test_a_skip_waits_for_its_reason() -> None:
    bench = Guided()
    done = bench.hear(SKIP)
    assert (done.decision.outcome, done.decision.why) == (ASKED, "a reason is needed")
    done = bench.hear(YES)
    assert done.decision.outcome is ASKED  # yes is no reason
    assert bench.at() == "Disconnect the supply."
    done = bench.hear(reason())
    assert kinds(done) == ["heard", "command skip", "step skipped"]
    skipped = done.events[-1]
    assert isinstance(skipped, ChecklistStep)
    assert (skipped.step, skipped.reason) == ("Disconnect the supply.", "it is not fitted")
    assert bench.state.question is None


def test_a_doubtful_reason_skips_nothing() -> None:
    bench = Guided()
    bench.hear(SKIP)
    done = bench.hear(reason(), trust=Trust.DOUBTFUL)
    assert done.decision.outcome is ASKED
    assert bench.at() == "Disconnect the supply."


def test_a_reason_that_nobody_asked_for_is_talk() -> None:
    bench = Guided()
    assert bench.hear(reason()).decision.about == "nothing"


def test_typed_commands_are_no_talk() -> None:
    bench = Guided()
    bench.type(CommandIntent("skip", detail="the fan is sealed"))
    assert bench.at() == "No charge left in the input capacitor ?"
    bench.type(BACK)
    assert bench.at() == "Disconnect the supply."
    bench.type(CommandIntent("jump", detail="lamp"))
    assert bench.at() == "What does the lamp do?"


def test_nobody_jumps_to_a_part_that_does_not_apply_now() -> None:
    steps = """checklist: a
steps:
  - {name: rails, measure: rail 5, only: before}
  - {name: proof, ask: Does the fan turn?, only: after}
  - {name: cold, say: Wipe the board, only: unpowered}
"""
    bench = Guided(read(steps))
    for say in (bench.type, bench.hear):  # nor is it asked before
        done = say(CommandIntent("jump", detail="proof"))
        assert (done.decision.outcome, done.decision.why) == (IGNORED, "that part is for after the repair")
        assert bench.at() == "measure rail 5"
    bench.type(CommandIntent("jump", detail="cold"))
    assert bench.at() == "Wipe the board ?"  # how the supply stands was not told: it asks
    bench.type(command("powered"))
    done = bench.type(CommandIntent("jump", detail="cold"))
    assert done.decision.why == "that part is for a unit without power"
    bench.type(command("after"))
    bench.type(CommandIntent("jump", detail="proof"))
    assert bench.at() == "Does the fan turn?"
    assert bench.type(CommandIntent("jump", detail="rails")).decision.why == "that part is for before the repair"


def test_who_jumps_to_a_part_comes_to_what_applies_of_it() -> None:
    proof = "{name: proof, ask: Does it turn?, only: after}, {say: Look}"
    bench = Guided(read(f"checklist: a\nsteps: [{{measure: rail 5}}, {proof}, {{say: b}}]"))
    bench.type(CommandIntent("jump", detail="proof"))
    assert bench.at() == "Look"


def test_an_answer_behind_something_else_is_not_taken_and_told_why() -> None:
    bench = Guided(read("checklist: a\nsteps: [{ask: 'Does it turn?'}, {say: b}]\n"))
    bench.hear(reading("rail 5", "5.02"))
    done = bench.hear(YES)
    assert (done.decision.about, done.decision.why) == ("step again", "something else was said since")
    assert bench.at() == "Does it turn?"
    bench.hear(YES)
    assert bench.at() == "b"


def test_a_wait_that_is_not_over_is_asked() -> None:
    bench = Guided(read("checklist: a\nsteps: [{wait: 30 s}, {say: b}, {say: c}]\n"))
    bench.hear(command("where"))
    done = bench.hear(NEXT, pause_s=10)
    assert (done.decision.outcome, done.decision.why) == (ASKED, "the wait is not over")
    assert done.decision.remark == "the wait is not over"  # said before the question
    done = bench.hear(YES)
    assert isinstance(done.events[-1], ChecklistStep)
    assert done.events[-1].outcome == "cut short"


def test_a_wait_that_is_over_is_done() -> None:
    bench = Guided(read("checklist: a\nsteps: [{wait: 30 s}, {say: b}]\n"))
    bench.hear(command("where"))
    bench.hear(NEXT, pause_s=31)
    assert bench.at() == "b"


def test_a_typed_transcript_without_times_waits_for_nothing() -> None:
    bench = Guided(read("checklist: a\nsteps: [{wait: 30 s}, {say: b}]\n"))
    typed = hearing(NEXT, trust=Trust.TYPED, after_s=1)
    bench.take(replace(typed, start_s=None, end_s=None))
    assert bench.at() == "b"


def test_a_new_stage_passes_the_step_that_is_of_the_other() -> None:
    bench = Guided(read("checklist: a\nsteps: [{say: b, only: before}, {say: c, only: before}, {say: d}]\n"))
    done = bench.type(command("after"))
    assert kinds(done) == ["heard", "command after", "step passed"]
    assert bench.at() == "d"
    assert done.decision.step is not None
    assert done.decision.step.text == "d"


def test_what_is_left_counts_the_steps() -> None:
    bench = to_the_rails()
    done = bench.hear(command("left"))
    assert done.decision.steps == ("rails", "adjust")
    assert "rail 3.3" in done.decision.names


def test_the_end_is_told() -> None:
    bench = Guided(read("checklist: a\nsteps: [{say: b}]\n"))
    assert bench.hear(NEXT).decision.step == StepTold("end")
    done = bench.hear(NEXT)
    assert (done.decision.about, done.decision.why) == ("refused", "the checklist is done")
    assert bench.hear(command("where")).decision.step == StepTold("end")


# --- whatever is said -----------------------------------------------------------------------------------------------
_VALUES = st.builds(
    SpokenValue, st.sampled_from(["5.02", "24.1", "330", "4", "over range"]), st.sampled_from(["V", "mA"])
)
_SAID = st.one_of(
    st.sampled_from([NEXT, NEXT, NEXT, BACK, SKIP, reason(), command("where"), command("left"), command("strike")]),
    st.sampled_from([YES, YES, NO, answer("first"), answer("second"), choice("red"), choice("green")]),
    st.sampled_from([command("before"), command("after"), CommandIntent("jump", detail="alpha")]),
    st.just(CommandIntent("skip", detail="it is not fitted")),
    st.builds(ReadingIntent, st.sampled_from([None, None, "input", "rail 5", "fan current"]), _VALUES),
    st.builds(lambda digits: command("correction", of=digits), _VALUES),
    st.sampled_from([go_to("input"), go_to("rail 5")]),
)
_SAID = st.integers(0, 9) | _SAID  # a number is what leads on from the step at hand
_TRUSTS = st.sampled_from([Trust.TYPED, Trust.TYPED, Trust.AGREED, Trust.AGREED, Trust.DOUBTFUL, Trust.UNRELATED])
TALK = st.lists(st.tuples(_SAID, _TRUSTS, st.sampled_from([2, 2, 40, 200]), st.booleans()), min_size=12, max_size=30)


def leading_on(state: SessionState, which: int) -> Intent:
    """One of the things that lead on from the step at hand."""
    progress = state.progress
    if progress is None or progress.step is None:
        return command("left")
    if progress.point is not None:
        point = BOARD_READ.point(progress.point)
        digits = {"V": ("5.02", "24.1", "6.1"), "mA": ("330", "320", "410")}[point.unit][which % 3]
        return ReadingIntent(None if which % 2 else point.name, SpokenValue(digits, point.unit))
    if progress.answers and progress.step.choices and not progress.place.asks_power:
        return choice(progress.step.choices[which % 2])
    return (NO if which % 3 == 0 else YES) if progress.answers else NEXT


def conversation(checklist: Checklist, talk: list[Any]) -> tuple[list[Event], list[tuple[Hearing, Any, Step]]]:
    state, opened = open_session(BOARD_READ, None, at=START, job="j", engine="panel", version="0", checklist=checklist)
    journal: list[Event] = list(opened)
    steps = []
    seconds = 0
    for meant, trust, pause_s, speak in talk:
        seconds += pause_s
        intent = leading_on(state, meant) if isinstance(meant, int) else meant
        heard = hearing(intent, trust=trust, after_s=seconds)
        done = step(state, heard, word_question=lambda decision: f"{len(decision.candidates)} candidates?")
        steps.append((heard, state, done))
        state = done.state
        journal += done.events
        if speak:
            state, event = said(state, heard.at, "something", None)
            journal.append(event)
    return journal, steps


@given(CHECKLISTS, TALK)
@settings(max_examples=80, deadline=None)
def test_a_kill_at_any_step_loses_nothing(checklist: Checklist, talk: list[Any]) -> None:
    journal, steps = conversation(checklist, talk)
    on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in journal]
    for _, _, done in steps:
        last = done.events[-1].seq
        assert resume(BOARD_READ, None, on_disk[:last], checklist) == done.state


@given(CHECKLISTS, TALK)
@settings(max_examples=80, deadline=None)
def test_every_utterance_has_one_outcome_and_moves_the_list_only_where_it_was_accepted(
    checklist: Checklist, talk: list[Any]
) -> None:
    for heard, before, done in conversation(checklist, talk)[1]:
        first, *rest = done.events
        assert isinstance(first, Heard)
        followers = [event.kind for event in rest if event.kind not in ("lapsed", "caution")]
        moved = [event for event in rest if isinstance(event, ChecklistStep)]
        power_asked = before.question is not None and before.question.why == WITHOUT_POWER
        match done.decision.outcome:
            case Outcome.ACCEPTED if power_asked and done.decision.about == "noted without power":
                assert followers == ["command", "note"]
            case Outcome.ACCEPTED if power_asked and done.decision.switched:
                assert followers in (
                    ["command", "reading"],
                    ["command", "reading", "step"],
                    ["step", "command", "reading"],
                    ["step", "command", "reading", "step"],
                )
            case Outcome.ACCEPTED:
                assert followers in (
                    ["reading"],
                    ["reading", "step"],
                    ["command"],
                    ["step"],
                    ["command", "step"],
                    ["command", "withdrawn"],
                    ["command", "withdrawn", "step"],
                    ["command", "withdrawn", "reading"],
                    ["command", "withdrawn", "step", "reading", "step"],
                )
                assert heard.transcript.trust in (Trust.AGREED, Trust.TYPED)
            case Outcome.ASKED:
                assert followers == ["asked"]
            case Outcome.IGNORED:
                assert followers == []
        if not moved:
            told = before.progress
            if done.decision.switched and told is not None:
                told = power_told(told, "powered")  # as where it is said beside the list
            assert done.state.progress == told
        for event in moved:
            if event.action == "skipped":
                assert event.reason
            if event.action == "measured":
                assert event.reading in {read.seq for read in rest if isinstance(read, Reading)}


@given(CHECKLISTS, TALK)
@settings(max_examples=80, deadline=None)
def test_no_question_outlives_what_settled_or_passed_it(checklist: Checklist, talk: list[Any]) -> None:
    """So that a later "yes" never answers an older question than the one that is in the ear."""
    for heard, _, done in conversation(checklist, talk)[1]:
        question = done.state.question
        if question is None or done.decision.outcome is Outcome.ASKED:
            continue
        assert done.decision.outcome is Outcome.IGNORED
        assert done.decision.about == "nothing"
        assert question.moment.at <= heard.at


@given(CHECKLISTS, TALK)
@settings(max_examples=100, deadline=None)
def test_what_ears_heard_undoes_skips_and_leaves_only_once_it_was_asked(checklist: Checklist, talk: list[Any]) -> None:
    for heard, before, done in conversation(checklist, talk)[1]:
        for event in done.events:
            if not isinstance(event, ChecklistStep) or heard.transcript.trust is Trust.TYPED:
                continue
            withdrawn = any(isinstance(other, Withdrawn) for other in done.events)
            if event.action in ("back", "skipped", "jumped") and not withdrawn:
                assert before.question is not None
                offered = [candidate.command for candidate in before.question.candidates if candidate.command]
                assert {command.name for command in offered} & {"back", "skip", "jump"}


@given(CHECKLISTS, TALK)
@settings(max_examples=100, deadline=None)
def test_a_value_alone_is_taken_only_for_the_point_that_was_last_said(checklist: Checklist, talk: list[Any]) -> None:
    for heard, before, done in conversation(checklist, talk)[1]:
        meant = heard.parses[0].intents[0]
        taken = [event for event in done.events if isinstance(event, Reading)]
        if isinstance(meant, ReadingIntent) and meant.point is None and taken and before.question is None:
            assert taken[0].point == before.current


def test_the_talk_of_these_tests_reaches_every_outcome() -> None:
    """So that none of the properties above holds for want of cases."""
    seen: set[str] = set()

    @given(CHECKLISTS, TALK)
    @settings(max_examples=200, deadline=None, database=None, derandomize=True)
    def look(checklist: Checklist, talk: list[Any]) -> None:
        for _, _, done in conversation(checklist, talk)[1]:
            seen.update(event.action for event in done.events if isinstance(event, ChecklistStep))
            seen.update("asked" for event in done.events if isinstance(event, Asked))

    look()
    assert seen >= {"done", "answered", "measured", "power", "skipped", "jumped", "back", "asked"}
