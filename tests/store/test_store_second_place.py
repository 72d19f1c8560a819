"""Takes that a box refused, in a file of their own: exactly these, each once, found by the next."""

from __future__ import annotations

import os
import stat
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode
from store_kit import NOW, take

from drillbox.store import Retraction, read_log, write_log
from drillbox.store.second_place import SecondPlace

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folders(tmp_path: Path) -> list[Path]:
    """Return two folders that are not made yet."""
    return [tmp_path / "state" / "unsaved", tmp_path / "session" / "unsaved"]


def place_of(folders: list[Path], *, box: str = "player.box", owner: str = "one") -> SecondPlace:
    """Return the second place of a program, for a box beside the folders."""
    return SecondPlace(folders, folders[0].parents[1] / box, owner=owner)


def test_exactly_these_takes_are_kept_in_the_best_folder(folders: list[Path]) -> None:
    """In a log that any import reads, for its owner's eyes; fewer takes leave fewer in it."""
    place, takes = place_of(folders), [take(1), take(2), take(3)]
    kept = place.hold(takes)
    assert kept is not None
    assert folders[0] == kept.parent
    assert 0o700 == stat.S_IMODE(folders[0].stat().st_mode)
    assert not folders[1].exists()
    for held in (takes, takes[1:], takes[:1]):
        assert kept == place.hold(held)
        with kept.open("rb") as source:
            assert held == list(read_log(source, "x"))


def test_no_take_leaves_no_file(folders: list[Path]) -> None:
    """Neither where there was one, nor where there was none; no folder is made for it."""
    place = place_of(folders)
    assert place.hold([]) is None
    assert not folders[0].parent.exists()
    kept = place.hold([take(1)])
    assert kept is not None
    assert place.hold([]) is None
    assert [] == list(folders[0].iterdir())


def test_an_earlier_state_never_outlives_a_later_one(folders: list[Path]) -> None:
    """The first folder comes back: what the second one kept meanwhile is taken away."""
    place = place_of(folders)
    folders[0].parent.write_text("a file where a folder should be")
    assert folders[1] == (place.hold([take(1), take(2)]) or folders[0]).parent
    folders[0].parent.unlink()
    assert folders[0] == (place.hold([take(2)]) or folders[1]).parent
    assert [] == list(folders[1].iterdir())
    assert [(take(2),)] == [one.takes for one in place_of(folders, owner="two").left_behind()]


def test_where_every_folder_refuses_nothing_is_kept(folders: list[Path]) -> None:
    """It says so, rather than fail."""
    for folder in folders:
        folder.parent.write_text("a file where a folder should be")
    assert place_of(folders).hold([take(1)]) is None
    assert [] == place_of(folders, owner="two").left_behind()


def test_what_others_left_of_this_box_is_found(folders: list[Path]) -> None:
    """In every folder, in order of their names; not one's own file, not that of another box."""
    place_of(folders, owner="c").hold([take(3)])
    place_of(folders, owner="b").hold([take(2)])
    place_of(folders[1:], owner="a").hold([take(1)])
    place_of(folders, owner="me").hold([take(4)])
    place_of(folders, box="other.box", owner="d").hold([take(5)])
    (folders[0] / "notes.jsonl").write_text("mine")
    found = place_of(folders, owner="me").left_behind()

    assert [(take(2),), (take(3),), (take(1),)] == [one.takes for one in found]
    assert [(None, False)] * 3 == [(one.problem, one.is_cut) for one in found]
    assert len({one.path for one in found}) == 3


def test_only_takes_are_taken_up(folders: list[Path]) -> None:
    """A retraction in such a file is no take."""
    kept = place_of(folders).hold([take(1)])
    assert kept is not None
    with kept.open("wb") as out:
        write_log([take(1), Retraction(f"{9:032x}", take(1).id, NOW)], out)

    assert [(take(1),)] == [one.takes for one in place_of(folders, owner="two").left_behind()]


def test_a_cut_file_gives_what_stands_before_the_cut(folders: list[Path]) -> None:
    """It is known for cut where it began as it should; then it is set aside, and read no more."""
    kept = place_of(folders).hold([take(1), take(2)])
    assert kept is not None
    whole = kept.read_bytes()
    for content, takes, is_cut in (
        (whole[: whole.rindex(b"\n", 0, -1) - 20], (take(1),), True),
        (whole.replace(b"drillbox take log", b"drillbox tape log"), (), False),
    ):
        kept.write_bytes(content)
        (left,) = place_of(folders, owner="two").left_behind()
        assert (takes, is_cut) == (left.takes, left.is_cut)
        assert left.problem is not None
        assert str(kept) in left.problem.where
    aside = left.set_aside()
    assert kept.with_suffix(".cut") == aside
    assert aside is not None
    assert content == aside.read_bytes()
    assert [] == place_of(folders, owner="two").left_behind()
    assert left.set_aside() is None


def test_a_file_that_may_not_be_read_is_named(folders: list[Path]) -> None:
    """Its takes are not lost, only not to be had now."""
    kept = place_of(folders).hold([take(1)])
    assert kept is not None
    with with_mode(kept, 0):
        (left,) = place_of(folders, owner="two").left_behind()
    assert ((), False) == (left.takes, left.is_cut)
    assert "the file cannot be read" in str(left.problem)


@pytest.mark.parametrize("device", [None, "/dev/zero"])
def test_a_pipe_in_the_place_of_a_file_keeps_no_start_waiting(
    folders: list[Path], device: str | None
) -> None:
    """Nor does a device without an end; each is named, and stays where it is."""
    kept = place_of(folders, owner="two").hold([take(1)])
    assert kept is not None
    kept.unlink()
    if device is None:
        os.mkfifo(kept)
    else:
        kept.symlink_to(device)
    (left,) = place_of(folders).left_behind()

    assert ((), False) == (left.takes, left.is_cut)
    assert "not a plain file" in str(left.problem)


def test_a_folder_in_the_place_of_a_file_is_named(folders: list[Path]) -> None:
    """It can be neither read nor cut."""
    kept = place_of(folders).hold([take(1)])
    assert kept is not None
    kept.unlink()
    kept.mkdir()
    (left,) = place_of(folders, owner="two").left_behind()

    assert ((), False) == (left.takes, left.is_cut)
    assert "the file cannot be read: Is a directory" in str(left.problem)
