"""Whether a checklist can be gone through: every step can be reached, and every way comes to an end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from benchvoice.decide.checklist_steps import CheckStep

__all__ = ["circle", "covers", "reached"]


def covers(step: CheckStep) -> bool:
    """Whether every outcome of a step branches, so that what follows it is come to by no outcome."""
    named = set(step.branches)
    if "else" in named:
        return True
    if step.kind != "measure":
        return bool(step.answers) and named >= set(step.answers)
    fails = "fail" in named or {"high", "low"} <= named
    return fails and {"pass", "recorded"} <= named


def reached(steps: Sequence[CheckStep]) -> frozenset[int]:
    """The steps that can be come to from the first one."""
    found: set[int] = set()
    todo = [0]
    while todo:
        number = todo.pop()
        if number in found or number == len(steps):
            continue
        found.add(number)
        todo.extend(_ways_on(steps[number]))
    return frozenset(found)


def _ways_on(step: CheckStep) -> tuple[int, ...]:
    ways = list(step.branches.values())
    if step.kind == "do":
        ways.append(step.inside[0])
    if not covers(step):
        ways.append(step.follows)
    if step.most is not None:
        ways.append(step.otherwise)
    return tuple(ways)


def circle(steps: Sequence[CheckStep]) -> tuple[int, ...]:
    """Steps that can be gone round without end, in their order; empty where every way ends.

    A limit is used up after so many rounds; then there is one way on from its step, `otherwise`. What still goes round
    with every limit used up goes round for ever, and nothing else does: limits are counted before anything else, and
    those of a sub-list begin anew only with a round of the list around it.
    """
    ways: Mapping[int, tuple[int, ...]] = {step.number: _at_last(step) for step in steps}
    done: set[int] = set()
    for start in ways:
        path: list[int] = []
        on_path: set[int] = set()
        todo: list[tuple[int, bool]] = [(start, True)]
        while todo:
            number, coming = todo.pop()
            if not coming:
                path.pop()
                on_path.discard(number)
                done.add(number)
                continue
            if number in on_path:
                return tuple(path[path.index(number) :])
            if number in done or number not in ways:
                continue
            path.append(number)
            on_path.add(number)
            todo.append((number, False))
            todo.extend((target, True) for target in ways[number])
    return ()


def _at_last(step: CheckStep) -> tuple[int, ...]:
    if step.most is not None:
        return (step.otherwise,)
    inside = (step.inside[0],) if step.kind == "do" else ()
    return (*step.branches.values(), *inside, step.follows)
