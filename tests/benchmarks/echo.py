"""Whether it answers itself: `python -m tests.benchmarks.echo [MINUTES]`.

The loudspeaker is led back into the microphone, 60 ms later and undamped, which is worse than any room. A sentence is
spoken every half minute; whatever is heard beside that was our own voice. Exit status 1 where there was any.
"""

from __future__ import annotations

import sys
import tempfile
import time
from itertools import cycle
from pathlib import Path

from tests.live.at_the_bench import listening
from tests.live.kills import SPOKEN
from tests.sound_card import sound_card


def main() -> None:
    """Print what was heard, and the sum."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    until_s = time.monotonic() + 60 * minutes
    said = 0
    with sound_card() as card, tempfile.TemporaryDirectory() as folder:
        card.plug("echo")
        with listening(card, Path(folder)) as run:
            for sentence in cycle(SPOKEN):
                if time.monotonic() > until_s:
                    break
                run.say(sentence)
                said += 1
                time.sleep(min(26.0, max(0.0, until_s - time.monotonic())))
            heard = run.kinds("heard")
            withdrawn = run.kinds("withdrawn")
    for event in heard:
        print(f"{event['start_s']:8.1f} {event['outcome']:9s} {event['text']} ({event['why']})")
    print(f"{minutes:g} minutes: {said} sentences spoken, {len(heard)} utterances heard, {len(withdrawn)} taken back")
    sys.exit(0 if len(heard) == said and not withdrawn else 1)


if __name__ == "__main__":
    main()
