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

_EVERY_S = 26.0


def main() -> None:
    """Print what was heard, and the sum."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    until_s = time.monotonic() + 60 * minutes
    said: list[str] = []
    with sound_card() as card, tempfile.TemporaryDirectory() as folder:
        card.plug("echo")
        with listening(card, Path(folder)) as run:
            for sentence in cycle(SPOKEN):
                if time.monotonic() + _EVERY_S > until_s:
                    break
                run.say(sentence)
                said.append(sentence)
                time.sleep(_EVERY_S)
            heard = run.kinds("heard")
            others = run.kinds("withdrawn", "device")
            told = [event["text"] for event in run.kinds("said")]
    for event in sorted((*heard, *others), key=lambda event: str(event["at"])):
        print(event["at"], event["kind"], event.get("outcome", ""), event.get("text", ""), event.get("why", ""))
    answered = [event["text"] for event in heard if event["outcome"] != "ignored"]
    print("\n".join(text for text in told if text.startswith("I ")))
    print(f"{minutes:g} minutes: {len(said)} sentences spoken, {len(answered)} answered, {len(heard) - len(answered)} "
          f"other utterances heard, {len(others)} taken back or trouble with a device")  # fmt: skip
    sys.exit(0 if answered == said and len(heard) == len(said) and not others else 1)


if __name__ == "__main__":
    main()
