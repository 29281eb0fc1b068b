"""Templates compiled into the word network that every recogniser listens along.

The network is deterministic and as small as it can be, so that no two of its paths have the same words: a decoder's
second best path is then truly another sentence.
"""

from __future__ import annotations

from collections import defaultdict
from weakref import WeakKeyDictionary

from benchvoice.errors import GrammarError
from benchvoice.records import WordArc, WordNetwork
from benchvoice.understand.templates import Alt, Mark, Node, Seq, Shared, Word

__all__ = ["compile_network"]


_COMPILED: WeakKeyDictionary[Shared, WordNetwork] = WeakKeyDictionary()


class _Loose:
    """A network as the templates give it: several paths may share their words, and some arcs have none."""

    def __init__(self) -> None:
        self.arcs: list[list[tuple[str | None, int]]] = [[]]
        self._closures: dict[int, frozenset[int]] = {}
        self._unions: dict[frozenset[int], frozenset[int]] = {}

    def node(self) -> int:
        self.arcs.append([])
        return len(self.arcs) - 1

    def add(self, node: Node, start: int) -> int:
        """Lay `node` from `start`; returns where it ends."""
        if isinstance(node, Word):
            end = self.node()
            self.arcs[start].append((node.text, end))
            return end
        if isinstance(node, Seq):
            for part in node.parts:
                start = self.add(part, start)
            return start
        if isinstance(node, Alt):
            end = self.node()
            for part in node.parts:
                self.arcs[self.add(part, start)].append((None, end))
            return end
        if isinstance(node, Mark):
            return start
        if isinstance(node, Shared):
            return self._embed(node, start)
        raise GrammarError(f"slot <{node.name}> was not filled")

    def _embed(self, shared: Shared, start: int) -> int:
        if shared.node == Alt(()):
            return self.add(shared.node, start)
        if shared not in _COMPILED:
            _COMPILED[shared] = compile_network(shared.node)
        network = _COMPILED[shared]
        nodes = [self.node() for _ in range(network.n_nodes)]
        end = self.node()
        self.arcs[start].append((None, nodes[0]))
        for arc in network.arcs:
            self.arcs[nodes[arc.source]].append((arc.word, nodes[arc.target]))
        for final in network.finals:
            self.arcs[nodes[final]].append((None, end))
        return end

    def closure(self, nodes: set[int]) -> frozenset[int]:
        """`nodes` and all that can be reached from them without a word."""
        key = frozenset(nodes)
        if key not in self._unions:
            self._unions[key] = frozenset().union(*(self._closure(node) for node in key))
        return self._unions[key]

    def _closure(self, node: int) -> frozenset[int]:
        if node not in self._closures:
            seen, todo = {node}, [node]
            while todo:
                for word, target in self.arcs[todo.pop()]:
                    if word is None and target not in seen:
                        seen.add(target)
                        todo.append(target)
            self._closures[node] = frozenset(seen)
        return self._closures[node]


def compile_network(node: Node) -> WordNetwork:
    """The network of all sentences of `node`.

    Raises:
        GrammarError: a slot was left unfilled, or there is no sentence.
    """
    loose = _Loose()
    # a node with arcs out of it may be entered from elsewhere: alternatives start on their own node
    end = loose.add(node, loose.node())
    start = loose.closure({1})
    following: dict[frozenset[int], dict[str, frozenset[int]]] = {}
    todo = [start]
    while todo:
        group = todo.pop()
        if group in following:
            continue
        targets: dict[str, set[int]] = defaultdict(set)
        for member in group:
            for word, target in loose.arcs[member]:
                if word is not None:
                    targets[word].add(target)
        following[group] = {word: loose.closure(reached) for word, reached in targets.items()}
        todo.extend(following[group].values())
    return _numbered(*_smallest(start, following, end))


_Shape = tuple[bool, tuple[tuple[str, int], ...]]


def _smallest(
    start: frozenset[int], following: dict[frozenset[int], dict[str, frozenset[int]]], end: int
) -> tuple[int, list[_Shape]]:
    """Groups with the same continuations become one: the shapes by number, and the start's number."""
    shapes: list[_Shape] = []
    known: dict[_Shape, int] = {}
    number: dict[frozenset[int], int] = {}
    todo = [start]
    while todo:
        group = todo[-1]
        waiting = [target for target in following[group].values() if target not in number]
        if waiting:
            todo.extend(waiting)
            continue
        todo.pop()
        shape = (end in group, tuple(sorted((word, number[target]) for word, target in following[group].items())))
        if shape not in known:
            known[shape] = len(shapes)
            shapes.append(shape)
        number[group] = known[shape]
    return number[start], shapes


def _numbered(start: int, shapes: list[_Shape]) -> WordNetwork:
    """Numbered from the start so that every arc leads upwards: shapes were made continuations first."""
    order = {shape: len(shapes) - 1 - shape for shape in range(len(shapes))}
    if start != len(shapes) - 1:
        raise GrammarError("the start of a network can be reached again")
    arcs = tuple(
        WordArc(order[shape], order[target], word)
        for shape in reversed(range(len(shapes)))
        for word, target in shapes[shape][1]
    )
    if not arcs:
        raise GrammarError("a network needs at least one sentence")
    finals = frozenset(order[shape] for shape in range(len(shapes)) if shapes[shape][0])
    return WordNetwork(n_nodes=len(shapes), finals=finals, arcs=arcs)
