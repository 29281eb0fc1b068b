"""`kill -9` at random moments under live input: `python -m tests.benchmarks.kills [TIMES] [SEED]`.

Each time `benchvoice listen` is started on the same job, spoken to, and killed within two seconds of the end of a
sentence, or of its greeting: then it hears, decides, writes and answers. Every reading whose tone was recorded at the
loudspeaker must be in the journal, which must open again and be whole. Exit status 1 where one is lost.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

from benchvoice.keep.journal import read_journal
from tests.live.kills import kill_once
from tests.sound_card import sound_card

_LONGEST_S = 2.0


def main() -> None:
    """Print a line for each time, and the sum."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    confirmed = kept = lost = torn = 0
    with sound_card() as card, tempfile.TemporaryDirectory() as folder:
        for number in range(1, times + 1):
            after_s = rng.uniform(0, _LONGEST_S)
            killed = kill_once(card, Path(folder), rng.choice((0, 1, 1, 1, 2, 2)), after_s)
            confirmed += len(killed.confirmed)
            kept += len(killed.kept)
            lost += killed.lost
            journal = read_journal(Path(folder) / "bench")
            torn += journal.torn is not None
            print(f"{number:4d} {killed.spoken} spoken, {after_s:4.2f} s after: confirmed {len(killed.confirmed)}, "
                  f"kept {len(killed.kept)}, lost {killed.lost}; {killed.lines} lines", flush=True)  # fmt: skip
        whole = read_journal(Path(folder) / "bench").integrity
    print(f"{times} kills: {confirmed} readings confirmed by tone, {kept} kept, {lost} lost; unfinished ends {torn}; "
          f"{whole.lines} lines, {len(whole.incomplete)} utterances cut off before they were confirmed")  # fmt: skip
    sys.exit(1 if lost else 0)


if __name__ == "__main__":
    main()
