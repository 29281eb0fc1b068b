"""Templates compiled into the word network that every recogniser listens along.

The network is deterministic and as small as it can be, so that no two of its paths have the same words: a decoder's
second best path is then truly another sentence.

It is built from its end: a state is the set of what can still be said, and states with the same continuations are one
and the same (Daciuk and others, "Incremental construction of minimal acyclic finite-state automata", 2000, from
memory). What two networks have in common is therefore made once: the next context costs little more than what is new.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from benchvoice.errors import GrammarError
from benchvoice.records import WordArc, WordNetwork
from benchvoice.understand.templates import Alt, Mark, Node, Seq, Shared, Word

__all__ = ["NetworkCompiler"]

_State = tuple[bool, tuple[tuple[str, int], ...]]  # whether a sentence may end there; each next word with its state
_NOTHING, _END = 0, 1


class NetworkCompiler:
    """Compiles templates into networks; what was compiled before is used again."""

    def __init__(self) -> None:
        self._states: list[_State] = [(False, ()), (True, ())]
        self._numbers: dict[_State, int] = {state: number for number, state in enumerate(self._states)}
        self._unions: dict[frozenset[int], int] = {}
        self._shared: dict[tuple[Shared, int], int] = {}

    def compile(self, node: Node) -> WordNetwork:
        """The network of all sentences of `node`.

        Raises:
            GrammarError: a slot was left unfilled, or there is no sentence.
        """
        return self._numbered(self._before(node, _END))

    def _before(self, node: Node, then: int) -> int:
        """The state in which `node` can be said and then what can be said in the state `then`."""
        match node:
            case Word(text=text):
                return then if then == _NOTHING else self._state(False, {text: then})
            case Mark():
                return then
            case Seq(parts=parts):
                for part in reversed(parts):
                    then = self._before(part, then)
                return then
            case Alt(parts=parts):
                return self._either(self._before(part, then) for part in parts)
            case Shared():
                key = (node, then)
                if key not in self._shared:
                    self._shared[key] = self._before(node.node, then)
                return self._shared[key]
            case _:
                raise GrammarError(f"slot <{node.name}> was not filled")

    def _state(self, final: bool, following: dict[str, int]) -> int:
        state = (final, tuple(sorted(following.items())))
        number = self._numbers.setdefault(state, len(self._states))
        if number == len(self._states):
            self._states.append(state)
        return number

    def _either(self, states: Iterable[int]) -> int:
        """The state in which all can be said that can be said in any of `states`."""
        together = frozenset(states) - {_NOTHING}
        if len(together) <= 1:
            return next(iter(together), _NOTHING)
        if together not in self._unions:
            following: dict[str, set[int]] = defaultdict(set)
            for state in together:
                for word, target in self._states[state][1]:
                    following[word].add(target)
            final = any(self._states[state][0] for state in together)
            self._unions[together] = self._state(
                final, {word: self._either(targets) for word, targets in following.items()}
            )
        return self._unions[together]

    def _numbered(self, start: int) -> WordNetwork:
        """The states that can be reached, numbered from the start so that every arc leads upwards."""
        done: dict[int, None] = {}  # each behind all that follow it
        todo = [start]
        while todo:
            waiting = [target for _, target in self._states[todo[-1]][1] if target not in done]
            todo += waiting
            if not waiting:
                done.setdefault(todo.pop())
        order = {state: len(done) - 1 - number for number, state in enumerate(done)}
        arcs = tuple(
            WordArc(order[state], order[target], word)
            for state in reversed(done)
            for word, target in self._states[state][1]
        )
        if not arcs:
            raise GrammarError("a network needs at least one sentence")
        return WordNetwork(len(done), frozenset(order[state] for state in done if self._states[state][0]), arcs)
