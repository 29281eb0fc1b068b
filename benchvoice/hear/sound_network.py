"""A network of words laid out as a network of sounds: flat arrays that the decoder can sweep frame by frame.

Every way to pronounce a word on its way into a node is one *run*: its sounds one after another. How a run goes on
depends only on the node it leads to, so arcs with the same word and target share their runs; a number grammar shrinks
several times. Between two equal sounds a blank is required (that is how a CTC model tells "aa" from "a"), and that
holds across words too: the values of going on from a node are kept per *leaving class*, one for most last sounds and
one more for each last sound that some word out of the node begins with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from benchvoice.records import WordNetwork

__all__ = ["Run", "SoundNetwork", "WordExit", "compile_sounds"]

Ints = npt.NDArray[np.intp]
Variants = Mapping[str, Sequence[tuple[int, ...]]]
"""Word → its pronunciations, each a tuple of symbol numbers."""


@dataclass(frozen=True)
class Run:
    """One pronunciation on its way into a node: symbol numbers, and the node."""

    sounds: tuple[int, ...]
    target: int


@dataclass(frozen=True)
class WordExit:
    """One word out of a node: the word, the node it leads to, and its runs by number."""

    word: str
    target: int
    runs: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class SoundNetwork:
    """The compiled network. S sounds in R runs, N nodes, C leaving classes.

    Attributes:
        runs: the R runs.
        exits: the words out of each node.
        finals: (N,) whether a sentence may end there.
        sound: (S,) symbol of each sound, run after run.
        first, last: (R,) index of each run's first and last sound.
        repeats: (S,) indices whose next sound in the run is the same symbol.
        run_class: (R,) the leaving class into which each run ends.
        rounds: runs out of nodes, grouped by node and first sound, the largest groups first: rounds[k] holds the k-th
            run of each group that has one. A maximum over each group takes a few long steps so, not one a group.
        class_groups, class_starts: groups that a class may go on with; where each class starts. The number of groups
            itself stands for "none".
        class_node: (C,) the node of each class.
        plain_class: (N,) the class of each node for last sounds that no word out of it begins with.
        split_class: (node, last sound) → class, where that differs from the plain one.
    """

    runs: tuple[Run, ...]
    exits: tuple[tuple[WordExit, ...], ...]
    finals: npt.NDArray[np.bool_]
    sound: Ints
    first: Ints
    last: Ints
    repeats: Ints
    run_class: Ints
    rounds: tuple[Ints, ...]
    class_groups: Ints
    class_starts: Ints
    class_node: Ints
    plain_class: Ints
    split_class: dict[tuple[int, int], int]


def compile_sounds(network: WordNetwork, variants: Variants) -> SoundNetwork:
    """Lay out `network` with the pronunciations in `variants`.

    Raises:
        KeyError: a word has no entry in `variants`.
        ValueError: a pronunciation is empty, or a word has none.
    """
    numbers: dict[Run, int] = {}
    exits: list[list[WordExit]] = [[] for _ in range(network.n_nodes)]
    for arc in network.arcs:
        spoken = dict.fromkeys(variants[arc.word])
        if not spoken or not all(spoken):
            raise ValueError(f"the word {arc.word!r} has no pronunciation, or an empty one")
        runs = tuple(numbers.setdefault(Run(sounds, arc.target), len(numbers)) for sounds in spoken)
        exits[arc.source].append(WordExit(arc.word, arc.target, runs))
    ordered = tuple(numbers)
    sound = np.array([symbol for run in ordered for symbol in run.sounds], dtype=np.intp)
    lengths = np.array([len(run.sounds) for run in ordered], dtype=np.intp)
    last = np.cumsum(lengths) - 1
    same = sound[1:] == sound[:-1]
    within = np.ones(len(same), dtype=bool)
    within[last[:-1]] = False
    classes = _leaving_classes(ordered, exits)
    rounds, class_groups = _in_rounds(classes)
    return SoundNetwork(
        runs=ordered,
        exits=tuple(tuple(words) for words in exits),
        finals=np.isin(np.arange(network.n_nodes), list(network.finals)),
        sound=sound,
        first=last - lengths + 1,
        last=last,
        repeats=np.flatnonzero(same & within),
        run_class=_ints(classes.of_run),
        rounds=rounds,
        class_groups=class_groups,
        class_starts=_ints(classes.class_starts),
        class_node=_ints(classes.class_node),
        plain_class=_ints(classes.plain),
        split_class=classes.split,
    )


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.intp)


@dataclass
class _Classes:
    of_run: list[int]
    out_runs: list[int]
    group_starts: list[int]
    class_groups: list[int]
    class_starts: list[int]
    class_node: list[int]
    plain: list[int]
    split: dict[tuple[int, int], int]


def _in_rounds(classes: _Classes) -> tuple[tuple[Ints, ...], Ints]:
    """The groups in `rounds`, and the classes' groups by their numbers there."""
    starts, members = _ints(classes.group_starts), _ints(classes.out_runs)
    sizes = np.diff(np.append(starts, len(members)))
    order = np.argsort(-sizes, kind="stable")
    number = np.empty(len(starts) + 1, dtype=np.intp)
    number[order] = np.arange(len(starts))
    number[-1] = len(starts)  # none
    starts, sizes = starts[order], sizes[order]
    largest = int(sizes[0]) if len(sizes) else 0
    rounds = tuple(members[starts[sizes > place] + place] for place in range(largest))
    return rounds, number[_ints(classes.class_groups)]


def _leaving_classes(runs: Sequence[Run], exits: Sequence[Sequence[WordExit]]) -> _Classes:
    endings: list[set[int]] = [set() for _ in exits]
    for run in runs:
        endings[run.target].add(run.sounds[-1])
    table = _Classes([], [], [], [], [], [], [], {})
    node_groups: list[dict[int, int]] = []  # per node: first sound → group
    for words in exits:
        by_first: dict[int, list[int]] = {}
        for number in dict.fromkeys(number for word in words for number in word.runs):
            by_first.setdefault(runs[number].sounds[0], []).append(number)
        groups = {}
        for first, members in by_first.items():
            groups[first] = len(table.group_starts)
            table.group_starts.append(len(table.out_runs))
            table.out_runs.extend(members)
        node_groups.append(groups)
    none = len(table.group_starts)
    for node, groups in enumerate(node_groups):
        table.plain.append(len(table.class_starts))
        for excluded in (None, *sorted(endings[node] & groups.keys())):
            if excluded is not None:
                table.split[node, excluded] = len(table.class_starts)
            table.class_starts.append(len(table.class_groups))
            table.class_node.append(node)
            table.class_groups.extend([group for first, group in groups.items() if first != excluded] or [none])
    table.of_run = [table.split.get((run.target, run.sounds[-1]), table.plain[run.target]) for run in runs]
    return table
