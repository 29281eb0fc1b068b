"""How well synthesised readings are heard: accepted, asked, ignored, and accepted wrong, by condition.

    python -m tests.corpus.measure_hearing [--engine panel|network|sphinx] [--split tune|test] [--readings N]
        [--talk N] [--cache DIR]

Deterministic: sentences, voices and noises come from fixed seeds. `speech.py` says which voices and noises were tuned
on. A reading counts as right where the first alternative means what was said. Talk (small talk with numbers in it)
should be ignored. Needs flite, and festival for two of the test voices.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

from benchvoice.files import shipped
from benchvoice.hear.engines import open_engines
from benchvoice.records import Context, SpokenPoint, Trust
from benchvoice.spelling import spell_digits, spell_number
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import FILES, read_language
from benchvoice.understand.parse import Parser
from tests.corpus.speech import TEST_VOICES, TUNING_VOICES, mix, say, utterance, voices

POINTS = tuple(
    SpokenPoint(say[0], say, quantity, unit, decimals=3)
    for say, quantity, unit in (
        (("input", "supply input"), "voltage", "V"),
        (("rail five", "five volt rail"), "voltage", "V"),
        (("rail three point three", "logic rail"), "voltage", "V"),
        (("fan drive", "motor drive"), "voltage", "V"),
        (("bias", "negative rail"), "voltage", "V"),
        (("logic rail to ground",), "resistance", "ohm"),
        (("gate pulldown", "gate resistor"), "resistance", "ohm"),
        (("standby", "standby current"), "current", "A"),
        (("clock", "crystal"), "frequency", "Hz"),
        (("clamp", "clamp diode"), "diode drop", "V"),
        (("bulk", "bulk capacitor"), "capacitance", "F"),
        (("sink", "heat sink"), "temperature", "degC"),
    )
)

TALK = (
    "we should probably order more of these next week",
    "the kettle is on in the kitchen if you want some tea",
    "i think the customer said it stopped working after the storm",
    "there were three of them at the door and five in the van",
    "he said he would be here at half past ten",
    "the price went up to twenty four pounds last year",
    "she lives at number fifty five on the left",
    "the meeting was moved to three thirty on thursday",
    "it costs about one hundred and twenty with tax",
    "the bus leaves at seven fifteen from the corner",
    "turn the radio down a bit will you",
    "no it is the other one on the right",
)

CONDITIONS: dict[str, tuple[tuple[str | None, float], ...]] = {
    "tune": ((None, 0), ("white", 20), ("pink", 20), ("white", 10), ("pink", 10)),
    "test": ((None, 0), ("white", 20), ("pink", 20), ("hum", 20), ("blower", 20),
             ("white", 10), ("pink", 10), ("hum", 10), ("blower", 10)),
}  # fmt: skip
VOICES = {"tune": TUNING_VOICES, "test": TEST_VOICES}


def _grammar() -> Grammar:
    folder = shipped("grammars") / "en"
    return Grammar(read_language({name: (folder / name).read_text(encoding="utf-8") for name in FILES}), POINTS)


def readings(n: int, seed: int, fits: Callable[[str], bool]) -> list[str]:
    """`n` different readings as people say them, of those that fit."""
    rng = random.Random(seed)
    units = _grammar().language.heard_units
    found: dict[str, None] = {}
    while len(found) < n:
        point = rng.choice(POINTS)
        whole = str(rng.choice([rng.randrange(10), rng.randrange(10, 100), rng.randrange(100, 1000)]))
        decimals = "".join(str(rng.randrange(10)) for _ in range(rng.choice([0, 1, 1, 2, 2, 3])))
        number = spell_number(f"{whole}.{decimals}" if decimals else whole)
        if decimals and rng.random() < 0.25:
            number = f"{spell_digits(whole)} point {spell_digits(decimals)}"
        if decimals and rng.random() < 0.15:
            number = number.replace("point zero", "point oh")
        minus = "minus " if point.quantity == "voltage" and rng.random() < 0.12 else ""
        unit = " ".join(rng.choice([(), *units[point.quantity]]))
        verb = rng.choice(("reads", "is", "at", "measures"))
        text = f"{rng.choice(point.say)} {verb} {minus}{number} {unit}".strip()
        if fits(text):
            found[text] = None
    return list(found)


def measure(engine: str, split: str, n_readings: int, n_talk: int, cache: Path) -> None:
    """Print one row per condition, and every reading that was accepted wrong."""
    grammar, context = _grammar(), Context()
    network, slips, parser = grammar.network(context), grammar.slip_network(context), Parser(grammar)

    def meaning(text: str) -> str | None:
        return parser.parse(text, context).meaning

    def fits(text: str) -> bool:
        return network.accepts(text) and meaning(text) is not None

    here = [voice for voice in VOICES[split] if voice in voices()]
    print(f"{engine}, {split}, voices {', '.join(here)}: {n_readings} readings and {n_talk} of talk a voice")
    print(f"{'':12s}{'accepted':>9s}{'wrong':>7s}{'asked':>7s}{'ignored':>9s}{'first right':>13s}{'talk taken':>12s}")
    wrong: list[str] = []
    with open_engines(engine) as panel:
        for noise, snr_db in CONDITIONS[split]:
            count: Counter[str] = Counter()
            name = "clean" if noise is None else f"{noise} {snr_db:g} dB"
            for voice in here:
                seed = zlib.crc32(f"{split} {voice}".encode())
                for text, ours in _said(n_readings, n_talk, seed, fits):
                    sound = mix(say(text, voice, cache), noise, snr_db, zlib.crc32(f"{text} {noise}".encode()))
                    heard = panel.hear(utterance(sound), network, meaning, slips)
                    if not ours:
                        count["talk"] += heard.trust is not Trust.UNRELATED
                        continue
                    right = meaning(heard.text) == meaning(text)
                    count[heard.trust] += 1
                    count["first"] += right
                    if heard.trust is Trust.AGREED and not right:
                        count["wrong"] += 1
                        wrong.append(f"{voice}, {name}: {text!r} as {heard.text!r} ({heard.why})")
            row = (count[Trust.AGREED], count["wrong"], count[Trust.DOUBTFUL], count[Trust.UNRELATED])
            print(
                "{:12s}{:9d}{:7d}{:7d}{:9d}".format(name, *row), f"{count['first']:12d}{count['talk']:12d}", flush=True
            )
    print("\n".join(wrong))


def _said(n_readings: int, n_talk: int, seed: int, fits: Callable[[str], bool]) -> Iterable[tuple[str, bool]]:
    yield from ((text, True) for text in readings(n_readings, seed, fits))
    yield from ((text, False) for text in random.Random(seed).sample(TALK, min(n_talk, len(TALK))))


def main() -> None:
    """Measure as the arguments say."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--engine", default="panel", choices=("panel", "network", "sphinx", "moonshine"))
    parser.add_argument("--split", default="test", choices=tuple(CONDITIONS))
    parser.add_argument("--readings", type=int, default=10)
    parser.add_argument("--talk", type=int, default=3)
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "benchvoice-speech")
    chosen = parser.parse_args()
    measure(chosen.engine, chosen.split, chosen.readings, chosen.talk, chosen.cache)


if __name__ == "__main__":
    main()
