"""A log or a box that is refused: by the file's name, with what is wrong and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hostile_rows import alter

if TYPE_CHECKING:
    from cli_kit import Player


def test_a_log_that_an_editor_marked_is_taken_in(player: Player) -> None:
    """As a deck is; and an entry that was edited is named with its file, its place and its fix."""
    assert 0 == player("record", "e", "64", "steady").code
    log = player.path.with_name("takes.jsonl")
    assert 0 == player("export", str(log)).code
    content = log.read_bytes()
    log.write_bytes(b"\xef\xbb\xbf" + content)
    assert "0 new entries taken in.\n" == player("import", str(log)).out
    log.write_bytes(content.replace(b"64.0", b"65.0"))
    said = player("import", str(log))
    assert 4 == said.code
    assert said.err.startswith(f"drillbox: {log}: entry ")
    assert "the box has another entry of this id" in said.err


def test_a_restore_without_backups_is_refused_as_a_box_is(player: Player) -> None:
    """With the code of a box that cannot be used, and a way on."""
    said = player("restore", "--yes")
    assert (6, "") == (said.code, said.out)
    assert "no good backup lies beside the box; name a backup that lies elsewhere" in said.err


def test_a_view_of_another_program_is_named(player: Player) -> None:
    """So that it can be taken out."""
    alter(player.path, "CREATE VIEW minutes_a_day AS SELECT 1")
    said = player("today")
    assert 6 == said.code
    assert "has put views into the box ('minutes_a_day'); take them out" in said.err
