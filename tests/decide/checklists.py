"""Checklists for tests: one that has every kind of step, and random ones that all come to an end."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from benchvoice.decide.checklist import Act, Progress
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import read_board
from benchvoice.errors import BoardError
from tests.decide.builders import BOARD

CHECKLIST = """\
checklist: First look
board: GF-2 greenhouse fan controller
steps:
  - name: safety
    do: make safe
  - measure: rail 3.3 to ground
    if: {fail: dead short}
  - name: power up
    say: Connect 24 V, limited to half an amp.
    needs: unpowered
  - name: rails
    measure: rail 5
    needs: powered
    at most: 3
    otherwise: give up
    if: {fail: adjust, pass: lamp}
  - name: adjust
    say: Turn the trimmer a little.
    go to: rails
  - name: lamp
    ask: What does the lamp do?
    choices: [dark, steady light, blinking]
    if: {dark: give up, else: next}
  - inspect: Electrolytic capacitors
    if: {fail: give up}
  - ask: Does the fan turn?
    only: after
  - wait: 30 s
    why: Let it warm up
  - warn: The heat sink is hot.
    go to: end
  - name: give up
    say: Write down what was found.
    go to: end
  - name: dead short
    say: Do not connect the supply.
lists:
  make safe:
    - say: Disconnect the supply.
    - inspect: No charge left in the input capacitor
      needs: unpowered
"""

BOARD_READ = read_board(BOARD, "board.yaml")


def read(text: str = CHECKLIST, file: str = "first look.yaml") -> Checklist:
    """That file's checklist, for the board of the builders."""
    return read_checklist(text, file, BOARD_READ)


# --- random checklists --------------------------------------------------------------------------------------------
_NAMES = ("alpha", "bravo", "charlie", "delta", "echo", "foxtrot")
_POINTS = ("input", "rail 5", "fan current")
_ONLY = st.sampled_from([None, None, None, "before", "after", "powered", "unpowered"])


@st.composite
def _step(draw: st.DrawFn, name: str, targets: list[str], lists: list[str]) -> dict[str, Any]:
    kind = draw(
        st.sampled_from(["say", "ask", "choices", "measure", "inspect", "wait", "warn", *(["do"] * len(lists))])
    )
    step: dict[str, Any] = {"name": name}
    target = st.sampled_from(targets)
    match kind:
        case "do":
            step |= {"do": draw(st.sampled_from(lists))}
        case "measure":
            step |= {"measure": draw(st.sampled_from(_POINTS))}
            outcomes = ["fail", "pass", "skipped"]
        case "choices":
            step |= {"ask": "What is it?", "choices": ["red", "green"]}
            outcomes = ["red", "else", "skipped"]
        case "wait":
            step |= {"wait": "5 min"}
        case _:
            step |= {kind: "Look at it"}
            outcomes = ["yes", "no"] if kind == "ask" else ["pass", "fail"]
    if kind in ("ask", "choices", "measure", "inspect") and draw(st.booleans()):
        chosen = draw(st.lists(st.sampled_from(outcomes), min_size=1, max_size=2, unique=True))
        if "red" in chosen and "else" not in chosen:
            chosen.append("else")
        step["if"] = {outcome: draw(target) for outcome in chosen}
    if draw(st.integers(0, 7)) == 0:
        step["go to"] = draw(target)
    if draw(st.integers(0, 2)):
        step |= {"at most": str(draw(st.integers(1, 3))), "otherwise": draw(st.sampled_from(["next", "end"]) | target)}
    only = draw(_ONLY)
    if only is not None:
        step["only"] = only
    elif draw(st.integers(0, 3)) == 0:
        step["needs"] = draw(st.sampled_from(["powered", "unpowered"]))
    return step


@st.composite
def checklist_files(draw: st.DrawFn) -> str:
    """The text of a checklist file that loads; circles without a limit and steps out of reach were thrown away."""
    sub: list[dict[str, Any]] = []
    for index in range(draw(st.integers(0, 3))):
        sub.append(draw(_step(f"sub {_NAMES[index]}", [f"sub {_NAMES[index]}", "next", "end"], [])))
    size = draw(st.sampled_from([6, 5, 4, 3, 2, 1]))
    names = list(_NAMES[:size])
    lists = ["errand"] if sub else []
    steps = [draw(_step(name, [*names, "next", "next", "end"], lists)) for name in names]
    if sub and not any("do" in step for step in steps):
        sub = []
    lines = ["checklist: random", "steps:", *(f"  - {_flow(step)}" for step in steps)]
    if sub:
        lines += ["lists:", "  errand:", *(f"    - {_flow(step)}" for step in sub)]
    return "\n".join(lines) + "\n"


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(entry)}" for key, entry in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return str(value)


def loads(text: str) -> bool:
    """Whether it can be read."""
    try:
        read(text)
    except BoardError:
        return False
    return True


CHECKLISTS: st.SearchStrategy[Checklist] = checklist_files().filter(loads).map(read)
"""Random checklists, all of which loaded."""


def acts(progress: Progress) -> list[Act]:
    """Every act that leads on from here: what a technician may say or measure, but not back and not to a part."""
    step = progress.step
    if step is None:
        return []
    found = [Act("skipped", reason="no access")]
    if progress.place.asks_power:
        assert step.power is not None
        found.append(Act("power", step.power))
        if step.needs is None:
            found.append(Act("power", "unpowered" if step.power == "powered" else "powered"))
    elif step.kind == "measure":
        names = ("pass", "conditional pass", "conditional fail, low", "fail, high", "recorded")
        found += [Act("measured", name, reading=7) for name in names]
    elif step.answers:
        found += [Act("answered", name) for name in step.answers]
    else:
        found.append(Act("done"))
    return found
