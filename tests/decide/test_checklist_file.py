"""Checklist files: what is read from them, and how each mistake is refused with file, line and field."""

from __future__ import annotations

from contextlib import suppress
from io import StringIO
from itertools import pairwise
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from benchvoice.decide.checklist_file import checklist_schema, read_checklist
from benchvoice.decide.checklist_flow import circle
from benchvoice.decide.checklist_steps import CheckStep
from benchvoice.errors import BoardError
from tests.decide.checklists import BOARD_READ, CHECKLIST, checklist_files, read


def refused(text: str) -> str:
    with pytest.raises(BoardError, match=r"^list.yaml") as caught:
        read(text, "list.yaml")
    return str(caught.value)


def steps(*lines: str, lists: str = "") -> str:
    return "checklist: test\nsteps:\n" + "".join(f"  - {line}\n" for line in lines) + lists


def test_a_checklist_is_laid_out_in_one_row() -> None:
    checklist = read()
    assert checklist.name == "First look"
    assert [step.kind for step in checklist.steps[:4]] == ["do", "say", "inspect", "measure"]
    safety, unplug, charge, ground = checklist.steps[:4]
    assert (safety.name, safety.inside, safety.follows) == ("safety", (1, 3), 3)
    assert (unplug.part, unplug.follows) == ("make safe", 2)
    assert (charge.needs, charge.follows) == ("unpowered", 3)
    assert (ground.point, ground.needs) == ("rail 3.3 to ground", "unpowered")  # as the board has it measured
    rails = checklist.steps[checklist.named["rails"]]
    assert (rails.most, rails.otherwise) == (3, checklist.named["give up"])
    assert dict(rails.branches) == {"fail": checklist.named["adjust"], "pass": checklist.named["lamp"]}
    wait = next(step for step in checklist.steps if step.kind == "wait")
    assert (wait.wait_s, wait.text, wait.label) == (30, "Let it warm up", "wait 30 s: Let it warm up")
    assert len(checklist.sha256) == 64


def test_a_list_that_is_done_twice_stands_twice() -> None:
    checklist = read(steps("{do: a}", "{do: a}", lists="lists: {a: [{say: one}, {say: two}]}\n"))
    assert [(step.text, step.follows) for step in checklist.steps] == [
        ("a", 3), ("one", 2), ("two", 3), ("a", 6), ("one", 5), ("two", 6),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("outcome", "branches", "target"),
    [
        ("pass", {"fail": 5}, 1),
        ("conditional pass", {"pass": 5}, 5),
        ("conditional pass", {"pass": 5, "conditional pass": 6}, 6),
        ("conditional fail, low", {"fail": 5}, 5),
        ("conditional fail, low", {"fail": 5, "low": 6}, 6),
        ("conditional fail, low", {"fail": 5, "low": 6, "conditional fail": 7}, 7),
        ("fail, high", {"fail": 5, "conditional fail": 7}, 5),
        ("fail, high", {"fail": 5, "high": 6}, 6),
        ("fail, high", {"pass": 5, "else": 6}, 6),
        ("recorded", {"pass": 5}, 1),
        ("recorded", {"recorded": 5}, 5),
        ("conditional pass, high", {"high": 5, "low": 6}, 1),  # near a limit, but inside
        ("skipped", {"else": 5}, 1),
        ("skipped", {"skipped": 5}, 5),
    ],
)
def test_a_reading_takes_the_closest_branch(outcome: str, branches: dict[str, int], target: int) -> None:
    assert CheckStep(0, "measure", "rail 5", 1, point="rail 5", branches=branches).after(outcome) == target


BAD = [
    ("", "list.yaml: the file is empty."),
    ("checklist: a\nsteps: []\n", "line 2, steps: at least one entry is needed here"),
    ("checklist: a\nsteps:\n  - {say: x, colour: red}\n", "line 3, steps[0].colour: unknown key 'colour'"),
    ("checklist: a\nboard: kiln\nsteps: [{say: x}]\n", "line 2, board: this is for 'kiln', not for 'GF-2 greenhouse"),
    (steps("{name: a}"), "line 3, steps[0]: this step does nothing. Give it one of: say, ask, measure"),
    (steps("{say: a, ask: b}"), "line 3, steps[0].ask: this step has both say and ask. Make two steps"),
    (steps("{say: a, choices: [b, c]}"), "steps[0].choices: 'choices' means nothing in a step that has 'say'"),
    (steps("{say: a, if: {yes: end}}"), "steps[0].if: 'if' means nothing in a step that has 'say'"),
    (steps("{say: a, why: b}"), "steps[0].why: 'why' means nothing in a step that has 'say'"),
    (steps("{wait: soon}"), "line 3, steps[0].wait: 'soon' is not a time to wait. Write 30 s"),
    (steps("{wait: 0 s}"), "'0 s' is not a time to wait"),
    (steps("{wait: 25 h}"), "'25 h' is not a time to wait"),
    (
        steps("{do: b}", lists="lists: {b: [{say: c, colour: red}]}\n"),
        "line 4, lists.b[0].colour: unknown key 'colour'. The keys here are: name, say, ask",
    ),
    (steps("{do: b}", lists="lists: {b: {say: c}}\n"), "line 4, lists.b: a list is expected here"),
    (steps("{do: b}", lists="lists: {b: [c]}\n"), "line 4, lists.b[0]: keys and values are expected here"),
    (steps("{do: b}", lists="lists: [b]\n"), "line 4, lists: keys and values are expected here"),
    (steps("{ask: b, if: [yes]}"), "line 3, steps[0].if: keys and values are expected here"),
    (steps("{ask: b, if: {yes: {a: b}}}"), "line 3, steps[0].if.yes: "),
    # points
    (steps("{say: a}", "{measure: rial 5}"), "line 4, steps[1].measure: the board has no point 'rial 5'. Did you mean"),
    (steps("{measure: rail 3.3, needs: unpowered}"), "steps[0].needs: the board has 'rail 3.3' measured powered"),
    (steps("{measure: rail 3.3, only: unpowered}"), "steps[0].only: the board has 'rail 3.3' measured powered"),
    (steps("{say: a, needs: powered, only: powered}"), "steps[0].only: both needs and only name the supply"),
    # branches
    (steps("{ask: a, if: {maybe: end}}"), "steps[0].if.maybe: 'maybe' is no outcome of this step. Write one of: yes"),
    (steps("{ask: a, if: {yes: attic}}"), "steps[0].if.yes: there is no step 'attic' in this list"),
    (steps("{ask: a, if: {yes: }}"), "steps[0].if.yes: this is empty"),
    (steps("{say: a, go to: attic}"), "line 3, steps[0].go to: there is no step 'attic' in this list"),
    (
        steps("{ask: a, choices: [red, green, blue], if: {red: end}}"),
        "steps[0].if: there is no branch for green, blue. Add one for each, or else: next",
    ),
    (steps("{measure: rail 5, if: {high: end}}"), "steps[0].if: there is no branch for low. Add low: or fail:"),
    (steps("{measure: rail 5, if: {conditional fail: end}}"), "steps[0].if: there is no branch for fail"),
    (steps("{measure: probe, if: {fail: end}}"), "steps[0].if.fail: 'probe' has no limits: its value neither passes"),
    # names
    (steps("{name: a, say: x}", "{name: A, say: y}"), "line 4, steps[1].name: 'A' is given twice, first on line 3"),
    (steps("{name: '!', say: x}"), "steps[0].name: '!' cannot be said as it is written"),
    (steps("{name: end, say: x}"), "steps[0].name: 'end' means something else in a branch"),
    (
        steps("{name: a, do: a}", lists="lists: {a: [{say: x}]}\n"),
        "line 4, lists.a: 'a' is given twice, first on line 3",
    ),
    (steps("{ask: a, choices: [red, Red]}"), "steps[0].choices[1]: 'Red' is said like 'red'"),
    (steps("{ask: a, choices: [red, '?']}"), "steps[0].choices[1]: '?' cannot be said as it is written"),
    (steps("{ask: a, choices: [yes, no]}"), "steps[0].choices[0]: 'yes' needs no choices"),
    (steps("{ask: a, choices: [else, red]}"), "steps[0].choices[0]: 'else' would be taken for a branch"),
    # the way through
    (steps("{say: a, go to: end}", "{say: b}"), "line 4, steps[1]: this step is never reached"),
    (steps("{ask: a, if: {yes: end, no: end}}", "{say: b}"), "line 4, steps[1]: this step is never reached"),
    (steps("{say: a}", lists="lists: {b: [{say: c}]}\n"), "line 4, lists.b: the list 'b' is never done"),
    (steps("{do: c}", lists="lists: {b: [{say: c}]}\n"), "line 3, steps[0].do: there is no list 'c'"),
    (
        steps("{do: b}", lists="lists: {b: [{do: b}]}\n"),
        "line 4, lists.b[0].do: the list 'b' would be done inside itself",
    ),
    (steps("{name: a, say: x, go to: a}"), "line 3, steps[0]: this can go round without end: 'a'. Give one of them"),
    (
        steps("{name: a, say: x}", "{ask: b, if: {no: a}}"),
        "line 3, steps[0]: this can go round without end: 'a', then 'b'",
    ),
    (
        steps("{name: a, ask: x, at most: 2, otherwise: b, if: {no: a}}", "{name: b, say: y, go to: a}"),
        "this can go round without end: 'a', then 'b'",
    ),
    (steps("{say: a, at most: 2}"), "steps[0].at most: 'at most' is given without 'otherwise'"),
    (steps("{say: a, otherwise: end}"), "steps[0].otherwise: 'otherwise' is given without 'at most'"),
    (steps("{say: a, at most: 0, otherwise: end}"), "steps[0].at most: at most 0 times is never"),
    (steps("{say: a, at most: some, otherwise: end}"), "steps[0].at most: 'some' is not a whole number"),
    # proof
    (steps("{ask: a, proof: function test}"), "steps[0].proof: what counts as proof is a named part of steps:"),
    (
        steps("{do: b}", lists="lists: {b: [{name: c, ask: d, proof: safety check}]}\n"),
        "line 4, lists.b[0].proof: what counts as proof is a named part",
    ),
    (steps("{name: a, say: x, proof: all}"), "line 3, steps[0].proof: "),
    (
        steps("{name: a, say: x, proof: function test}", "{name: b, ask: y}"),
        "line 3, steps[0].proof: nothing in 'a' is asked, measured, inspected or waited for",
    ),
    (steps("{inspect: a, expected: pass}"), "steps[0].expected: 'expected' means nothing in a step that has 'inspect'"),
    (steps("{ask: a, expected: maybe}"), "steps[0].expected: 'maybe' is no answer to this step. Write one of: yes, no"),
]


def test_a_part_that_proof_proof_reaches_to_the_next_name() -> None:
    checklist = read(
        steps(
            "{say: a}", "{name: run, say: b, proof: function test}", "{ask: c, expected: yes}", "{do: d}",
            "{name: between, ask: e}", "{name: safe, inspect: f, proof: safety check}", "{wait: 5 s}",
            lists="lists: {d: [{measure: rail 5}, {warn: g}]}\n",
        )
    )  # fmt: skip
    found = [(step.label, step.expected, proof) for step, proof in checklist.checks]
    assert found == [
        ("c", "yes", "function test"),
        ("measure rail 5", "", "function test"),
        ("f", "", "safety check"),
        ("wait 5 s", "", "safety check"),
    ]


@pytest.mark.parametrize(("text", "complaint"), BAD)
def test_a_mistake_is_named_with_its_place(text: str, complaint: str) -> None:
    assert complaint in refused(text)


def test_lists_inside_lists_are_bounded() -> None:
    words = ("alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo")
    doubled = [f"  {word}: [{{do: {inner}}}, {{do: {inner}}}]\n" for word, inner in pairwise(words)]
    lists = "lists:\n" + "".join(doubled) + "  kilo: [{say: a}]\n"
    assert "the lists make more than 1000 steps" in refused(steps("{do: alpha}", lists=lists))


def test_what_words_mean_already_is_no_choice() -> None:
    text = steps("{ask: a, choices: [five, red]}")
    with pytest.raises(BoardError, match=r"steps\[0\].choices\[0\]: 'five' would be taken for a value"):
        read_checklist(text, "list.yaml", BOARD_READ, taken_for=lambda words: "a value" if words == "five" else "")


def test_the_schema_takes_what_is_read() -> None:
    jsonschema.validate(YAML(typ="safe", pure=True).load(StringIO(CHECKLIST)), checklist_schema())
    with pytest.raises(jsonschema.ValidationError, match="colour"):
        jsonschema.validate({"checklist": "a", "steps": [{"say": "x", "colour": "red"}]}, checklist_schema())


@given(st.text(max_size=60) | checklist_files(), st.integers(0, 200), st.text(max_size=3))
@settings(max_examples=150, deadline=None)
def test_nothing_but_a_message_comes_of_a_damaged_file(text: str, at: int, typed: str) -> None:
    damaged = text[:at] + typed + text[at + 1 :]
    with suppress(BoardError):  # anything else fails the test
        read(damaged, "list.yaml")


def _rounds(row: list[CheckStep]) -> bool:
    """Whether a way never ends, by going every way with the limits counted, without sub-lists."""
    seen: set[Any] = set()

    def walk(at: int, visits: tuple[int, ...], path: frozenset[Any]) -> bool:
        here = (at, visits)
        if at == len(row):
            return False
        if here in path:
            return True
        if here in seen:
            return False
        seen.add(here)
        step = row[at]
        if step.most is not None and visits[at] >= step.most:
            return walk(step.otherwise, visits, path | {here})
        counted = tuple(times + (number == at and step.most is not None) for number, times in enumerate(visits))
        return any(walk(target, counted, path | {here}) for target in {*step.branches.values(), step.follows})

    return walk(0, (0,) * len(row), frozenset())


@st.composite
def _rows(draw: st.DrawFn) -> list[CheckStep]:
    size = draw(st.integers(1, 4))
    target = st.integers(0, size)
    return [
        CheckStep(
            number, "ask", "x", draw(target), branches=draw(st.dictionaries(st.sampled_from(["yes", "no"]), target)),
            most=draw(st.sampled_from([None, 1, 2])), otherwise=draw(target),
        )
        for number in range(size)
    ]  # fmt: skip


@given(_rows())
@settings(max_examples=300, deadline=None)
def test_a_circle_is_found_wherever_a_way_never_ends(row: list[CheckStep]) -> None:
    if _rounds(row):
        assert circle(row)
