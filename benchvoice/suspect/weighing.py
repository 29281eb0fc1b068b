"""The minimal sets of failed causes that explain all readings, weighed: how probable each cause is, what to measure.

In a forest of supplies the minimal sets need not be listed. A set explains a wrong place if it has a cause on the way
to it; it is minimal if it has exactly one on each way. So all of them together weigh, from the outermost places
inwards, what the place's own causes weigh and, instead of these, the product of what its branches weigh. That takes one
pass for any number of sets. Where one part stands in several places the sets are listed, the weightiest first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Context, Decimal, localcontext
from itertools import islice
from math import prod

from benchvoice.suspect.evidence import Evidence
from benchvoice.suspect.information import entropy, information
from benchvoice.suspect.sets import leading_hitting_sets
from benchvoice.suspicion import Cause

__all__ = ["MOST_SETS", "Weighed", "weigh"]

MOST_SETS = 8
"""How many of the minimal sets are named."""

_MOST_LISTED = 128
"""How many are weighed where they have to be listed."""

_CONTEXT = Context(prec=28, Emin=-999999, Emax=999999)
_NOTHING, _ALL = Decimal(0), Decimal(1)

_Set = tuple[Decimal, tuple[Cause, ...]]


@dataclass(frozen=True)
class Weighed:
    """What explains the readings. Shares are of all minimal sets together, by weight.

    Attributes:
        shares: of each cause, the share of the sets that it is in.
        sets: the weightiest sets with their shares; at most `MOST_SETS`.
        n_sets: how many minimal sets there are.
        complete: whether all of them were weighed, or only the weightiest.
        bits: for each place that was not read what reading it tells in the mean, in bits.
        load_bits: the same for testing the loads of a place.
    """

    shares: Mapping[Cause, Decimal]
    sets: tuple[tuple[tuple[Cause, ...], Decimal], ...]
    n_sets: int
    complete: bool = True
    bits: Mapping[int, Decimal] = field(default_factory=dict)
    load_bits: Mapping[int, Decimal] = field(default_factory=dict)


def weigh(evidence: Evidence) -> Weighed:
    """The minimal sets that explain what is certainly wrong; where nothing is, every cause alone."""
    with localcontext(_CONTEXT):
        if not evidence.certain:
            return _one_of_all(evidence)
        places = Counter(cause for causes in evidence.causes for cause in causes)
        in_play = (causes for causes, on in zip(evidence.causes, evidence.in_play, strict=True) if on)
        if any(places[cause] > 1 for causes in in_play for cause in causes):
            return _listed(evidence)
        return _Forest(evidence).weighed()


class _Forest:
    """One pass outside in and one inside out, where every cause stands in one place."""

    def __init__(self, evidence: Evidence) -> None:
        self._evidence = evidence
        n = len(evidence.wrong)
        weights = evidence.network.weights
        self._if_right = [_ALL] * n  # of the doubtful readings from here outwards, were this place right
        self._if_wrong = [_ALL] * n
        self._plain = [sum((weights[cause] for cause in causes), _NOTHING) for causes in evidence.causes]
        self._own = [_NOTHING] * n
        self._all = [_ALL] * n
        self._counts = [1] * n
        self._best: dict[int, list[_Set]] = {}
        for at in reversed(evidence.network.order):
            self._outside_in(at)

    def _branches(self, at: int) -> list[int]:
        evidence = self._evidence
        return [child for child in evidence.network.children[at] if not evidence.starts[child]]

    def _outside_in(self, at: int) -> None:
        evidence = self._evidence
        branches = [] if evidence.wrong[at] else self._branches(at)
        right, wrong = evidence.doubt[at]
        self._if_right[at] = right * prod((self._if_right[child] for child in branches), start=_ALL)
        self._if_wrong[at] = wrong * prod((self._if_wrong[child] for child in branches), start=_ALL)
        if not evidence.in_play[at]:
            return
        self._own[at] = self._plain[at] * self._if_wrong[at]
        owned: list[_Set] = [
            (evidence.network.weights[cause] * self._if_wrong[at], (cause,)) for cause in evidence.causes[at]
        ]
        if evidence.wrong[at]:
            self._all[at], self._counts[at], self._best[at] = self._own[at], len(owned), _weightiest(owned)
            return
        on = [child for child in branches if evidence.in_play[child]]
        factor = right * prod((self._if_right[child] for child in branches if child not in on), start=_ALL)
        self._all[at] = self._own[at] + factor * prod((self._all[child] for child in on), start=_ALL)
        self._counts[at] = len(owned) + prod(self._counts[child] for child in on)
        joined = _joined(self._best.pop(child) for child in on)
        self._best[at] = _weightiest([*owned, *((factor * weight, causes) for weight, causes in joined)])

    def weighed(self) -> Weighed:
        evidence = self._evidence
        order, feeds = evidence.network.order, evidence.network.feeds
        shares: dict[Cause, Decimal] = {}
        right = [_ALL] * len(evidence.wrong)
        for at in order:
            feed = feeds[at]
            fed = _ALL if feed is None or evidence.starts[at] else right[feed]
            right[at] = _NOTHING if evidence.wrong[at] or evidence.under[at] else fed
            if not evidence.in_play[at]:
                continue
            own = self._own[at] / self._all[at]
            for cause in evidence.causes[at]:
                shares[cause] = fed * own * evidence.network.weights[cause] / self._plain[at]
            if not evidence.wrong[at]:
                right[at] = fed * (1 - own)
        roots = [at for at in order if evidence.in_play[at] and evidence.starts[at]]
        whole = prod((self._all[at] for at in roots), start=_ALL)
        best = _joined(self._best[at] for at in roots)
        return Weighed(
            shares=shares,
            sets=tuple((causes, weight / whole) for weight, causes in best),
            n_sets=prod(self._counts[at] for at in roots),
            bits={at: _split(1 - share) for at, share in enumerate(right) if evidence.unread(at)},
            load_bits=_load_bits(evidence, shares),
        )


def _joined(lists: Iterable[list[_Set]]) -> list[_Set]:
    """The weightiest of the sets that have one of each list."""
    joined: list[_Set] = [(_ALL, ())]
    for each in lists:
        joined = _weightiest([(first * then, (*causes, *more)) for first, causes in joined for then, more in each])
    return joined


def _weightiest(sets: list[_Set]) -> list[_Set]:
    return sorted(sets, key=lambda each: -each[0])[:MOST_SETS]


def _split(share: Decimal) -> Decimal:
    """What a measurement of two outcomes tells, in bits."""
    return entropy((share, 1 - share)) if 0 < share < 1 else _NOTHING


def _load_bits(evidence: Evidence, shares: Mapping[Cause, Decimal]) -> dict[int, Decimal]:
    index = evidence.network.index
    tested = {index[place] for place in evidence.network.load_tests.values()}
    return {
        at: _split(sum((shares.get(cause, _NOTHING) for cause in evidence.loads_open(at)), _NOTHING)) for at in tested
    }


# --- nothing is certainly wrong -----------------------------------------------------------------------------------
def _one_of_all(evidence: Evidence) -> Weighed:
    """Every cause alone: something has failed, or the unit would not be on the bench. Doubtful readings weigh in."""
    network = evidence.network
    factor = [_ALL] * len(network.places)  # how much likelier the doubtful readings are if this place is wrong
    for at in reversed(network.order):
        right, wrong = evidence.doubt[at]
        branches = (child for child in network.children[at] if not evidence.starts[child])
        factor[at] = wrong / right * prod((factor[child] for child in branches), start=_ALL)
    alone = [
        (network.weights[cause] * factor[at], (cause,), at)
        for at in range(len(network.places))
        for cause in evidence.causes[at]
    ]
    whole = sum((weight for weight, *_ in alone), _NOTHING) or _ALL
    shares: dict[Cause, Decimal] = {}
    own = [_NOTHING] * len(network.places)
    for weight, (cause,), at in alone:
        # a part in several places fails in one of them: its odds are shared among these
        shares[cause] = shares.get(cause, _NOTHING) + weight / whole
        own[at] += weight / whole
    wrong_share = list(own)
    for at in network.order:
        feed = network.feeds[at]
        if feed is not None and not evidence.starts[at]:
            wrong_share[at] += wrong_share[feed]
    best = sorted(shares.items(), key=lambda item: -item[1])
    return Weighed(
        shares=shares,
        sets=tuple(((cause,), share) for cause, share in islice(best, MOST_SETS)),
        n_sets=len(shares),
        bits={at: _split(share) for at, share in enumerate(wrong_share) if evidence.unread(at)},
        load_bits=_load_bits(evidence, shares),
    )


# --- a part in several places ---------------------------------------------------------------------------------------
def _listed(evidence: Evidence) -> Weighed:
    """The minimal sets one by one."""
    network = evidence.network
    conflicts = [[cause for at in evidence.path(top) for cause in evidence.causes[at]] for top in evidence.tops()]
    leading = leading_hitting_sets(conflicts, network.weights, _MOST_LISTED)
    # sets have no order of their own, and the same readings must give the same record
    sets = [tuple(sorted(failed, key=str)) for failed in leading.sets]
    predict = _Prediction(evidence)
    predicted = [predict.states(failed) for failed in sets]
    weights = [
        prod((network.weights[cause] for cause in failed), start=_ALL) * _likelihood(evidence, states)
        for failed, states in zip(sets, predicted, strict=True)
    ]
    whole = sum(weights, _NOTHING)
    share_of = [weight / whole for weight in weights]
    shares: dict[Cause, Decimal] = {}
    for failed, share in zip(sets, share_of, strict=True):
        for cause in failed:
            shares[cause] = shares.get(cause, _NOTHING) + share
    best = sorted(zip(sets, share_of, strict=True), key=lambda item: -item[1])
    return Weighed(
        shares=shares,
        sets=tuple(islice(best, MOST_SETS)),
        n_sets=len(sets),
        complete=leading.complete,
        bits={
            at: information(zip(share_of, (states[at] for states in predicted), strict=True))
            for at in range(len(network.places))
            if evidence.unread(at)
        },
        load_bits=_load_bits(evidence, shares),
    )


class _Prediction:
    """Whether each place is right if some causes have failed; None where a part in several places leaves it open."""

    def __init__(self, evidence: Evidence) -> None:
        self._evidence = evidence
        self._places: dict[Cause, list[int]] = {}
        for at, causes in enumerate(evidence.causes):
            for cause in causes:
                self._places.setdefault(cause, []).append(at)
        self._rank = {at: rank for rank, at in enumerate(evidence.network.order)}

    def states(self, failed: Iterable[Cause]) -> list[bool | None]:
        evidence = self._evidence
        states: list[bool | None] = [
            not (wrong or under) for wrong, under in zip(evidence.wrong, evidence.under, strict=True)
        ]
        alone = {places[0] for cause in failed if len(places := self._places[cause]) == 1}
        begun = {at for cause in failed for at in self._places[cause]}
        waiting = sorted(begun, key=lambda at: self._rank[at], reverse=True)
        while waiting:  # what feeds a place before the place
            at = waiting.pop()
            if evidence.right[at] or states[at] is False:
                continue
            feed = evidence.network.feeds[at]
            fed = True if feed is None or evidence.starts[at] else states[feed]
            states[at] = False if at in alone or fed is False else None
            waiting += [child for child in evidence.network.children[at] if not evidence.starts[child]]
        return states


def _likelihood(evidence: Evidence, states: list[bool | None]) -> Decimal:
    return prod(_likelihoods(evidence, states), start=_ALL)


def _likelihoods(evidence: Evidence, states: list[bool | None]) -> Iterator[Decimal]:
    for (right, wrong), state in zip(evidence.doubt, states, strict=True):
        if (right, wrong) != (_ALL, _ALL):
            yield right if state else wrong if state is False else (right + wrong) / 2
