"""What the readings say of a board's supplies: which places are certainly right or wrong, and what can be the cause.

The rules. A place that is right clears its own ways and loads and all that feeds it. A place that is wrong makes all
that it feeds wrong: their readings are only consequences. A place that is wrong while what feeds it is right convicts
its own ways or loads. One that lies too high is not explained by a load, nor by a feed that is too low. Where a reading
is right though what feeds it is wrong, both stand: the link between them is cut, and the reader is told. A doubtful
reading makes no conflict; it only weighs the explanations by how probably the place is right.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from benchvoice.suspect.supply import Network, Seen
from benchvoice.suspicion import Cause, Reason

__all__ = ["Evidence"]

_ONE = Decimal(1)


class Evidence:
    """The readings on a network, thought through once. Lists go by the place's index.

    Args:
        network: what feeds what.
        seen: what was read, by the point's name; points that the network does not have say nothing.

    Attributes:
        wrong: whether the place is certainly wrong by its own reading, or by that of its loads.
        right: whether it is certainly right, by its reading or by what it feeds.
        starts: whether nothing before it can explain it: it is fed from outside, from a right place, or was cut off.
        under: whether something that feeds it is certainly wrong, so that it is wrong too.
        in_play: whether it lies on the way to a wrong place that nothing certainly wrong feeds.
        causes: what of its own could make it wrong.
        doubt: how probably it is right, for a doubtful reading; else 1 for both.
    """

    def __init__(self, network: Network, seen: Mapping[str, Seen]) -> None:
        self.network = network
        n = len(network.places)
        self._seen: list[Seen | None] = [seen.get(place.name) for place in network.places]
        self.wrong = [found is not None and found.state == "wrong" for found in self._seen]
        self.right = [found is not None and found.state == "right" for found in self._seen]
        self.doubt = [_doubt(found) for found in self._seen]
        self._cut = [feed is None for feed in network.feeds]
        self._loads_only = [False] * n
        self._no_loads = [False] * n
        self._notes: list[Reason] = []
        self._take_load_tests(seen)
        self._clear_what_feeds()
        self._look_at_the_lifted()
        self.starts = [
            cut or (feed is not None and self.right[feed]) for cut, feed in zip(self._cut, network.feeds, strict=True)
        ]
        self.under = [False] * n
        for at in network.order:
            feed = network.feeds[at]
            self.under[at] = feed is not None and not self._cut[at] and (self.wrong[feed] or self.under[feed])
        self.in_play = [wrong and not under for wrong, under in zip(self.wrong, self.under, strict=True)]
        for at in reversed(network.order):
            feed = network.feeds[at]
            if self.in_play[at] and feed is not None and not self.starts[at]:
                self.in_play[feed] = True
        self.causes = [self._causes(at) for at in range(n)]

    @property
    def certain(self) -> bool:
        """Whether anything is certainly wrong."""
        return any(self.wrong)

    def tops(self) -> Iterator[int]:
        """The wrong places that nothing certainly wrong feeds: those that need an explanation."""
        return (at for at in range(len(self.wrong)) if self.wrong[at] and not self.under[at])

    def path(self, at: int) -> Iterator[int]:
        """A place and what can have made it wrong, upwards."""
        while True:
            yield at
            feed = self.network.feeds[at]
            if feed is None or self.starts[at]:
                return
            at = feed

    def loads_open(self, at: int) -> tuple[Cause, ...]:
        """The loads of a place that a test of its loads could still clear or convict."""
        return tuple(cause for cause in self.causes[at] if cause in self.network.places[at].loads)

    def unread(self, at: int) -> bool:
        """Whether the place was not read at all and could be judged."""
        return self._seen[at] is None and self.network.places[at].judged

    # --- thinking it through ------------------------------------------------------------------------------------
    def _take_load_tests(self, seen: Mapping[str, Seen]) -> None:
        network = self.network
        for test, place in network.load_tests.items():
            at, found = network.index[place], seen.get(test)
            if found is None or found.state == "doubtful":
                continue
            rail = self._seen[at]
            if found.state == "right":
                self._no_loads[at] = True
            elif self.right[at] or (rail is not None and rail.lifted):
                self._notes.append(Reason("contrary load", test, place))
            else:
                self._loads_only[at] = self._cut[at] = self.wrong[at] = True
                self._notes.append(Reason("load", test, place))

    def _clear_what_feeds(self) -> None:
        for at in reversed(self.network.order):
            feed = self.network.feeds[at]
            if not self.right[at] or feed is None or self._cut[at]:
                continue
            if self.wrong[feed]:
                self._cut[at] = True
                self._notes.append(Reason("contrary", self.network.places[at].name, self.network.places[feed].name))
            else:
                self.right[feed] = True

    def _look_at_the_lifted(self) -> None:
        for top in range(len(self.wrong)):
            found = self._seen[top]
            if found is None or found.state != "wrong" or not found.lifted:
                continue
            at = top
            while not (self.right[at] or self._loads_only[at]):
                self._no_loads[at] = True
                feed = self.network.feeds[at]
                if feed is None or self._cut[at]:
                    break
                if self.wrong[feed]:
                    if not self._lifted(feed):
                        self._cut[at] = True
                    break
                at = feed

    def _lifted(self, at: int) -> bool:
        found = self._seen[at]
        return found is not None and found.lifted

    def _causes(self, at: int) -> tuple[Cause, ...]:
        place = self.network.places[at]
        if self.right[at]:
            return ()
        if self._loads_only[at]:
            return tuple(dict.fromkeys(place.loads))
        return tuple(dict.fromkeys(place.ways if self._no_loads[at] else (*place.ways, *place.loads)))

    # --- in words -----------------------------------------------------------------------------------------------
    def reasons(self) -> Iterator[Reason]:
        """Why what is suspected is suspected, the wrong places first."""
        places, feeds = self.network.places, self.network.feeds
        convicted = {note.feed for note in self._notes if note.kind == "load"}
        for at in self.tops():
            name, feed = places[at].name, feeds[at]
            if feed is None:
                yield Reason("fed from outside", name)
            elif self.right[feed]:
                yield Reason("feed right", name, places[feed].name)
            elif self._cut[at] and name not in convicted:
                yield Reason("lifted", name, places[feed].name)
            elif name not in convicted:
                yield Reason("feed open", name, places[feed].name)
        for at, found in enumerate(self._seen):
            if self.wrong[at] and self.under[at]:
                yield Reason("consequence", places[at].name, places[self._wrong_feed(at)].name)
            elif found is not None and found.state == "doubtful":
                yield Reason("doubtful", places[at].name)
        yield from self._notes

    def _wrong_feed(self, at: int) -> int:
        """The place nearest the source that is certainly wrong and feeds this one."""
        while self.under[at]:
            feed = self.network.feeds[at]
            if feed is None:
                break
            at = feed
        return at


def _doubt(found: Seen | None) -> tuple[Decimal, Decimal]:
    return (found.right, 1 - found.right) if found is not None and found.state == "doubtful" else (_ONE, _ONE)
