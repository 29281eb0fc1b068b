"""How many points are measured until a fault is found: where it tells most, against the board's order.

    python -m tests.benchmarks.suspects [TREES]

Random supply trees with one or two faults, of which the complaint names an outermost point each. A hunt ends when no
point tells anything more. Also how long 1,024 points take to be thought through.
"""

from __future__ import annotations

import sys
from statistics import mean, median
from time import perf_counter

from benchvoice.suspect.evidence import Evidence
from benchvoice.suspect.weighing import Weighed, weigh
from tests.suspect.hunting import WRONG, Choice, board_order, broken_tree, chain, half_split, hunt


def _every_point(weighed: Weighed) -> int:
    """The board's order as it stands, points that tell nothing included."""
    return min(weighed.bits)


ORDERS: dict[str, Choice] = {
    "where it tells most": half_split,
    "board order, only points that tell": board_order,
    "board order, every point": _every_point,
}


def main(trees: int = 200) -> int:
    """Print the figures; 1 where the true fault was not among the minimal sets once."""
    missed = 0
    for fewest, most, part in ((8, 60, 1), (60, 300, 4), (1024, 1024, 40)):
        made = [broken_tree(seed, fewest, most) for seed in range(max(1, trees // part))]
        print(f"\n{len(made)} trees of {fewest} to {most} points")
        for name, choose in ORDERS.items():
            measured = []
            for tree in made:
                done = hunt(tree.supplies, tree.failed, tree.complaint, choose)
                measured.append(done.measured)
                missed += any(not weighed.shares.get(cause) for _, weighed in done.steps for cause in tree.unmasked)
            print(f"  {name:36} median {median(measured):5}  mean {mean(measured):7.1f}  most {max(measured)}")
    print(f"\ntrue faults missing from the minimal sets: {missed}")
    supplies, began = chain(1024), perf_counter()
    for _ in range(20):
        weigh(Evidence(supplies, {"p1023": WRONG}))
    print(f"1,024 points: {(perf_counter() - began) / 20 * 1000:.1f} ms from readings to suspects")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
