"""Small word networks for the hearing tests, built from slots of phrases."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from benchvoice.records import WordArc, WordNetwork

DIGITS = ("zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def network_of(sentences: Iterable[str]) -> WordNetwork:
    """The network that accepts exactly these sentences."""
    return slots([list(sentences)])


def sentences(network: WordNetwork) -> set[tuple[str, ...]]:
    """Every sentence, by walking all arcs: another way than `accepts` takes."""
    found: set[tuple[str, ...]] = set()
    unfinished: list[tuple[int, tuple[str, ...]]] = [(0, ())]
    while unfinished:
        node, words = unfinished.pop()
        if node in network.finals:
            found.add(words)
        unfinished += [(arc.target, (*words, arc.word)) for arc in network.arcs if arc.source == node]
    return found


def slots(*alternatives: Sequence[Sequence[str]]) -> WordNetwork:
    """The network whose sentences take one phrase from each slot in turn, for any of the given slot sequences.

    A phrase may be empty.
    """
    arcs: dict[int, list[tuple[str, int]]] = {}
    skips: dict[int, set[int]] = {}
    count = 1
    ends: set[int] = set()
    for sequence in alternatives:
        at = 0
        for phrases in sequence:
            end, count = count, count + 1
            for phrase in phrases:
                node = at
                words = phrase.split()
                for word in words[:-1]:
                    arcs.setdefault(node, []).append((word, count))
                    node, count = count, count + 1
                if words:
                    arcs.setdefault(node, []).append((words[-1], end))
                else:
                    skips.setdefault(node, set()).add(end)
            at = end
        ends.add(at)
    return _determinise(arcs, skips, ends)


def _closure(nodes: Iterable[int], skips: dict[int, set[int]]) -> frozenset[int]:
    found, todo = set(nodes), list(nodes)
    while todo:
        for node in skips.get(todo.pop(), ()):
            if node not in found:
                found.add(node)
                todo.append(node)
    return frozenset(found)


def _determinise(arcs: dict[int, list[tuple[str, int]]], skips: dict[int, set[int]], ends: set[int]) -> WordNetwork:
    moves: dict[frozenset[int], dict[str, frozenset[int]]] = {}
    order: list[frozenset[int]] = []

    def visit(state: frozenset[int]) -> None:
        if state in moves:
            return
        targets: dict[str, set[int]] = {}
        for node in state:
            for word, target in arcs.get(node, ()):
                targets.setdefault(word, set()).add(target)
        moves[state] = {word: _closure(nodes, skips) for word, nodes in sorted(targets.items())}
        for reached in moves[state].values():
            visit(reached)
        order.append(state)  # after its targets, so the reverse is a topological order

    start = _closure([0], skips)
    visit(start)
    number = {state: index for index, state in enumerate(reversed(order))}
    found = sorted(WordArc(number[s], number[t], w) for s, out in moves.items() for w, t in out.items())
    finals = frozenset(number[state] for state in order if state & ends)
    return WordNetwork(len(order), finals, tuple(found))


def digit_strings(longest: int) -> WordNetwork:
    """Every string of one to `longest` spoken digits."""
    return slots([DIGITS] + [("", *DIGITS)] * (longest - 1))


def whole_numbers() -> list[str]:
    """Zero to nine hundred and ninety nine as commonly said, with "and" or without."""
    ones = [digit for digit in DIGITS if digit not in ("zero", "oh")]
    small = [*ones, *TEENS, *TENS, *(f"{ten} {one}" for ten in TENS for one in ones)]
    hundreds = [f"{one} hundred" for one in ones]
    return ["zero", *small, *hundreds, *(f"{h} {link}{s}" for h in hundreds for link in ("", "and ") for s in small)]


def readings(points: Sequence[str], units: Sequence[str], *, decimals: int = 4) -> WordNetwork:
    """`<point> reads|is|at|measures <number> [unit]`, the number with up to `decimals` digits after the point."""
    verbs = ("reads", "is", "at", "measures")
    tail = [("", *units)]
    digit = [d for d in DIGITS if d != "oh"]
    after = [("point",), ("oh", *digit), *[("", *digit)] * (decimals - 1)]
    whole = whole_numbers()
    signed = [("", "minus", "negative")]
    return slots([points, verbs, *signed, whole, *tail], [points, verbs, *signed, [*whole, "oh"], *after, *tail])
