"""The corpus maker as it is run: files and labels that `benchvoice score` takes, the same again from the same seed."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.commands.corpus import read_corpus
from tests.corpus import noises
from tests.corpus.make_corpus import FREE, label_of, main
from tests.corpus.noises import TALKER, noises_of
from tests.corpus.planned import LEAD_S, Cast, plan, sound_of, speaker_of
from tests.corpus.voices import VOICES, missing, voices_of

pytestmark = pytest.mark.apt

FLITE = Cast(("awb", "kal16"), noises_of("held-out"))


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if why := missing(VOICES["awb"]):
        pytest.skip(why)
    return tmp_path_factory.mktemp("said")


def _made(out: Path, cache: Path, *more: str) -> list[dict[str, str]]:
    """Run the maker with two flite voices; the labels."""
    voices = ["--voice", "awb", "--voice", "kal16"]
    main(["--split", "held-out", "--out", str(out), "--cache", str(cache), "--jobs", "1", *voices, *more])
    return [json.loads(line) for line in (out / "corpus.jsonl").read_text(encoding="utf-8").splitlines()]


@pytest.mark.parametrize("which", ["clean", "everything", "cut", "slips", "talk", "serials"])
def test_the_labels_are_what_score_reads(which: str, tmp_path: Path, cache: Path) -> None:
    labels = _made(tmp_path, cache, "--set", which, "--count", "6")
    assert [label["speaker"] for label in labels] == ["awb", "kal16"] * 3
    # the reader's own fields; who, in what noise and of which kind are there to count apart
    stripped = [{key: value for key, value in label.items() if key not in FREE} for label in labels]
    (tmp_path / "stripped.jsonl").write_text("\n".join(map(json.dumps, stripped)), encoding="utf-8")
    lines = read_corpus(tmp_path / "stripped.jsonl", speaker_of().understood.parser)
    assert [line.text for line in lines] == [label["text"] for label in labels]
    for line, label in zip(lines, labels, strict=True):
        assert bool(line.meant) == (label["kind"] not in ("talk", "slip", "misfit")), label
    assert {path.name for path in tmp_path.iterdir() if path.suffix == ".flac"} == {label["audio"] for label in labels}
    assert (tmp_path / "board.yaml").is_file()
    assert (tmp_path / "meter.yaml").is_file()


def test_it_goes_on_where_it_stopped_and_ends_the_same(
    tmp_path: Path, cache: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    labels = _made(tmp_path, cache, "--set", "10dB", "--count", "4")
    first, second = (tmp_path / label["audio"] for label in labels[:2])
    sound, kept = first.read_bytes(), second.stat().st_mtime_ns
    first.unlink()
    capsys.readouterr()
    assert _made(tmp_path, cache, "--set", "10dB", "--count", "4") == labels
    assert first.read_bytes() == sound
    assert second.stat().st_mtime_ns == kept
    printed = capsys.readouterr()
    assert "4 of 4 utterances" in printed.err
    assert "speaker: awb 2, kal16 2\nnoise: blower 10 dB 2, hum 10 dB 2\nkind: " in printed.out


def test_more_of_it_begins_with_the_same(tmp_path: Path, cache: Path) -> None:
    few = _made(tmp_path / "few", cache, "--set", "clean", "--count", "2")
    assert _made(tmp_path / "more", cache, "--set", "clean", "--count", "4", "--jobs", "2")[:2] == few
    assert _made(tmp_path / "other", cache, "--set", "clean", "--count", "2", "--seed", "2") != few


def test_one_kind_can_be_asked_for(tmp_path: Path, cache: Path) -> None:
    labels = _made(tmp_path, cache, "--set", "clean", "--count", "3", "--only", "command")
    assert {label["kind"] for label in labels} == {"command"}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("10dB", "--noise", "pink"), "noise pink belongs to tune, not to held-out"),
        (("talk", "--only", "reading"), "--only does not go with --set talk"),
        (("clean", "--only", "slip"), "there is no slip in --set clean"),
        (("clean", "--count", "0"), "--count must be 1 or more"),
    ],
)
def test_bad_input_is_said_without_a_traceback(
    given: tuple[str, ...], said: str, tmp_path: Path, cache: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        _made(tmp_path, cache, "--count", "1", "--set", *given)
    assert said in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


# --- what is planned ----------------------------------------------------------------------------------------------
def test_each_noise_gets_as_many_of_each_voice() -> None:
    counts = Counter(
        (made.voice, made.noise) for made in (plan("held-out", "20dB", number, 1, FLITE) for number in range(40))
    )
    # the two flite voices are two people, so that each can talk over the other
    assert set(counts.values()) == {4}
    assert {noise for _, noise in counts} == set(noises_of("held-out"))


def test_the_second_talker_is_another_person() -> None:
    cast = Cast(("kal16", "festival kal", "awb"), (TALKER,))
    others = {
        (made.voice, made.over[0]) for made in (plan("held-out", "10dB", n, 1, cast) for n in range(30)) if made.over
    }
    assert others == {("kal16", "awb"), ("festival kal", "awb"), ("awb", "kal16"), ("awb", "festival kal")}
    with pytest.raises(ValueError, match="there is no second voice to be had for this set"):
        plan("held-out", "10dB", 0, 1, Cast(("awb",), (TALKER,)))


def test_clean_sets_have_no_noise_and_the_channel_set_has_everything_else() -> None:
    clean = [plan("held-out", "clean", number, 1, FLITE) for number in range(60)]
    assert {label_of(0, made)["noise"] for made in clean} == {"none"}
    assert {made.channel.band for made in clean} == {""}
    assert {made.rate for made in clean} == {0.8, 0.9, 1.0, 1.1, 1.2, 1.3}
    assert any(plan("held-out", "channel", number, 1, FLITE).channel.rt60_s for number in range(10))


# --- what is heard ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("noise", noises_of("held-out"))
def test_the_file_has_the_noise_that_was_asked_for(noise: str, cache: Path) -> None:
    """Noise is read where nobody speaks, speech as the louder half of its frames, with the noise's power taken off."""
    made = plan("held-out", "5dB", 0, 1, Cast(FLITE.voices, (noise,)), only="reading")
    quiet = sound_of(type(made)(**{**vars(made), "noise": "none", "snr_db": None, "over": None}), cache)
    noisy = sound_of(made, cache)
    assert len(noisy) == len(quiet)
    lead = int(LEAD_S * 16000) - 800
    assert noisy[:lead].std() > 5 * quiet[:lead].std()
    # both files are scaled to their own peak: the share of speech in the noisy one is found by projecting on the other
    share = float(noisy.astype(float) @ quiet) / float(quiet.astype(float) @ quiet)
    rest = noisy - share * quiet
    speech = share * quiet[int(LEAD_S * 16000) : -int(1.2 * 16000)].astype(np.float64)
    snr_db = 10 * np.log10(noises.speech_power(speech) / (rest**2).mean())
    assert snr_db == pytest.approx(5, abs=0.5)


def test_the_same_plan_gives_the_same_samples(cache: Path, tmp_path: Path) -> None:
    made = plan("held-out", "everything", 3, 1, FLITE)
    np.testing.assert_array_equal(sound_of(made, cache), sound_of(made, tmp_path))


@pytest.mark.parametrize("name", VOICES)
def test_every_voice_speaks_faster_and_higher_when_it_is_asked_to(name: str, tmp_path: Path) -> None:
    if why := missing(VOICES[name]):
        pytest.skip(why)
    from tests.corpus.voices import say_as

    text = "rail five reads five point one volts"
    slow, own, fast = (len(say_as(text, name, tmp_path, rate)) for rate in (0.8, 1.0, 1.3))
    assert slow > 1.1 * own > 1.1 * 1.1 * fast
    high = say_as(text, name, tmp_path, 1.0, 1.08)
    assert len(high) == pytest.approx(own, rel=0.08)
    files = list(tmp_path.glob("*.flac"))
    assert {soundfile.info(path).samplerate for path in files} == {16000}
    assert len(files) == 4
    assert voices_of(VOICES[name].split)
