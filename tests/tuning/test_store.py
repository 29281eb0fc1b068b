"""The folder of voice profiles: one that is missing lists those known, one that is damaged costs the others nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import ProfileError, StorageError
from benchvoice.tuning.store import (
    checked_person,
    list_profiles,
    load_profile,
    profile_path,
    remove_profile,
    save_profile,
)
from tests.tuning.profiles import profile

ENGINES = {"hama": "1.7.0", "pocketsphinx": "5.1.1"}


def test_what_is_saved_is_listed_loaded_and_removed(tmp_path: Path) -> None:
    folder = tmp_path / "voices"
    assert list_profiles(folder) == ((), ())
    anna, ben = profile(engines=ENGINES), profile("ben", engines=ENGINES)
    assert save_profile(ben, folder) == folder / "ben.json"
    save_profile(anna, folder)
    assert list_profiles(folder) == ((anna, ben), ())
    assert load_profile("anna", folder, ENGINES) == anna
    assert remove_profile("anna", folder) == folder / "anna.json"
    assert list_profiles(folder) == ((ben,), ())
    assert [path.name for path in folder.iterdir()] == ["ben.json"]


def test_a_later_profile_replaces_an_earlier_one(tmp_path: Path) -> None:
    save_profile(profile(), tmp_path)
    later = profile(network_gap=None)
    save_profile(later, tmp_path)
    assert load_profile("anna", tmp_path) == later


@pytest.mark.parametrize("action", [load_profile, remove_profile])
def test_a_missing_profile_lists_those_known(tmp_path: Path, action: type) -> None:
    with pytest.raises(ProfileError, match=r"called 'anna' in .*None is stored yet; make it: .* tune anna"):
        action("anna", tmp_path / "voices")
    save_profile(profile("ben"), tmp_path)
    save_profile(profile("cleo"), tmp_path)
    with pytest.raises(ProfileError, match=r"no voice profile called 'anna' in .*Known are: ben, cleo"):
        action("anna", tmp_path)


@pytest.mark.parametrize(
    ("engines", "told"),
    [
        ({**ENGINES, "hama": "1.8.0"}, "hama 1.7.0, now 1.8.0"),
        ({"hama": "1.7.0"}, "pocketsphinx 5.1.1, now missing"),
        ({**ENGINES, "moonshine-voice": "0.1.0"}, "moonshine-voice missing, now 0.1.0"),
    ],
)
def test_a_profile_of_other_engines_is_refused(tmp_path: Path, engines: dict[str, str], told: str) -> None:
    save_profile(profile(engines=ENGINES), tmp_path)
    with pytest.raises(ProfileError, match=f"made with other recognisers .{told}.*Tune again") as caught:
        load_profile("anna", tmp_path, engines)
    assert caught.value.field == "engines"
    assert load_profile("anna", tmp_path).engines == ENGINES  # to be shown it need not fit


def test_a_damaged_profile_costs_the_others_nothing_and_stays_as_it_is(tmp_path: Path) -> None:
    save_profile(profile("ben"), tmp_path)
    (tmp_path / "anna.json").write_text('{"format": 1}', encoding="utf-8")
    (tmp_path / "cleo.json").write_bytes(b"\xff\xfe")
    (tmp_path / "dora.json").write_text(profile("ben").model_dump_json(), encoding="utf-8")
    (tmp_path / "emil.json").write_bytes(b" " * 1_000_001)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    found = list_profiles(tmp_path)
    assert [each.name for each in found.fit] == ["ben"]
    assert [Path(each.file or "").name for each in found.damaged] == [
        "anna.json",
        "cleo.json",
        "dora.json",
        "emil.json",
    ]
    assert [each.field for each in found.damaged] == ["name", None, "name", None]
    assert "not UTF-8 text (byte 0)" in str(found.damaged[1])
    assert "it is of 'ben'" in str(found.damaged[2])
    assert "too large" in str(found.damaged[3])
    with pytest.raises(ProfileError, match=r"anna.json, name: the voice profile is damaged: field required"):
        load_profile("anna", tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    remove_profile("anna", tmp_path)
    assert not (tmp_path / "anna.json").exists()


def test_a_file_in_the_way_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "voices").write_text("", encoding="utf-8")
    with pytest.raises(StorageError, match=r"voices: .*Check the folder's permissions and space"):
        save_profile(profile(), tmp_path / "voices")
    with pytest.raises(StorageError, match="the voice profiles cannot be read"):
        list_profiles(tmp_path / "voices")


@pytest.mark.parametrize("name", ["", ".", "..", "../anna", "a/b", "a\\b", ".anna", "anna.", "a b", "x" * 41, "a\n"])
def test_a_name_that_could_leave_the_folder_is_refused(name: str, tmp_path: Path) -> None:
    for action in (
        checked_person,
        lambda name: load_profile(name, tmp_path),
        lambda name: remove_profile(name, tmp_path),
    ):
        with pytest.raises(ProfileError, match="cannot be the name of a voice profile"):
            action(name)


@given(st.text())
def test_every_name_that_is_taken_stays_in_the_folder(name: str) -> None:
    folder = Path("voices")
    try:
        path = profile_path(name, folder)
    except ProfileError:
        return
    assert path.parent == folder
    assert not path.name.startswith(".")


@pytest.mark.parametrize("name", ["anna", "Jürgen", "anna.m-2", "7"])
def test_usual_names_are_taken(name: str, tmp_path: Path) -> None:
    save_profile(profile(name), tmp_path)
    assert load_profile(name, tmp_path).name == name
