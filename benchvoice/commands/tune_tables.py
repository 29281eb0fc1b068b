"""What `benchvoice tune` prints: the prompts before and after, what a profile changes, and which there are."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from rich import box
from rich.markup import escape
from rich.table import Table

from benchvoice.commands.console import print_table, warn
from benchvoice.tuning.profile import VoiceProfile
from benchvoice.tuning.store import Profiles

__all__ = ["changes", "print_list", "print_profile"]

_WIDTH = 130


def print_profile(profile: VoiceProfile, path: Path, *, as_json: bool = False) -> None:
    """The prompts before and after, what differs for this person, and where it is stored."""
    if as_json:
        print(json.dumps(profile.model_dump(mode="json"), indent=2, ensure_ascii=False))
        return
    table = Table(box=box.SIMPLE_HEAD, title=escape(f"{profile.name}, {profile.made:%Y-%m-%d}"), title_justify="left")
    for heading, justify in (("prompt", "left"), ("above noise", "right"), ("gap", "right")):
        table.add_column(heading, justify=justify)  # type: ignore[arg-type]
    for heading in ("before", "after", "heard otherwise by"):
        table.add_column(heading)
    for take in profile.takes:
        heard = "; ".join(f"{engine}: {text or 'nothing'}" for engine, text in take.heard.items())
        table.add_row(
            take.prompt, f"{take.above_noise_db:.0f} dB", f"{take.gap:.2f}", take.before, take.after, escape(heard)
        )
    print_table(table, _WIDTH)
    befores = [take.before for take in profile.takes]
    afters = [take.after for take in profile.takes]
    for line in (
        f"Of {len(profile.takes)} prompts right before and after: {befores.count('right')}, {afters.count('right')}; "
        f"asked: {befores.count('asked')}, {afters.count('asked')}; "
        f"taken wrong: {befores.count('wrong')}, {afters.count('wrong')}.",
        *changes(profile),
        f"Stored on this machine only: {path}",
    ):
        print(line)


def changes(profile: VoiceProfile) -> list[str]:
    """What differs for this person, a sentence each."""
    lines = []
    if profile.network_gap is not None:
        lines.append(f"Taken for a sentence of the bench up to a gap of {profile.network_gap:.2f}.")
    if profile.stranger_gap is not None:
        lines.append(f"Asked, not taken for other talk, up to an arbiter's gap of {profile.stranger_gap:.1f}.")
    for engine, words in profile.pronunciations.items():
        said = ", ".join(f"{word} ({way})" for word, ways in words.items() for way in ways)
        lines.append(f"Also heard by {engine}: {said}.")
    for alike, told in (("ask", "Always asked"), ("lead", "Taken only with a wider lead")):
        pairs = ", ".join(f"{pair.one}/{pair.other}" for pair in profile.pairs if pair.alike == alike)
        if pairs:
            lines.append(f"{told}, since this voice says them alike: {pairs}.")
    more = sum(take.after == "asked" for take in profile.takes) - sum(take.before == "asked" for take in profile.takes)
    if more > 0:
        lines.append(
            "With this profile more is asked than without it. Leave it out if that is too much: "
            f"benchvoice tune --reset {profile.name}"
        )
    lines += [
        f"Taken for something else even so: '{take.prompt}'. Say digits one by one, and listen to the read-back."
        for take in profile.takes
        if take.after == "wrong"
    ]
    return lines or ["Nothing differs: this voice is heard like everybody's."]


def print_list(profiles: Profiles, folder: Path, engines: Mapping[str, str]) -> None:
    """Every profile, and what is the matter with each that cannot be used."""
    if profiles == ((), ()):
        print(f"No voice profiles in {folder}. None is needed; benchvoice tune NAME makes one.")
    elif profiles.fit:
        print(f"In {folder}:")
    for profile in profiles.fit:
        fits = "" if profile.engines == engines else "  (made with other recognisers: tune again)"
        print(f"{profile.name}  {profile.made:%Y-%m-%d}  {len(profile.takes)} prompts{fits}")
    for error in profiles.damaged:
        warn(str(error))
