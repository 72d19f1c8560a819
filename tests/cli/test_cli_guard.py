"""Nothing inside a box ends a command: hostile rows in every table, then every command there is.

Also what a player can do about takes that are wrong: they are asked about, shown and taken back.
"""

from __future__ import annotations

import json
import shutil
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hostile_rows import WRONG_IN_A_TAKE, lay_open, put_take

from drillbox import Box, Grade
from drillbox.cli.command_table import HOMES
from drillbox.cli.main import run
from drillbox.deckfile import parse_deck
from drillbox.memory import MODEL_VERSION

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import Any

    from drillbox.deckfile import Deck

LATER = "2150-01-01T00:00:00.000000Z"
NEVER_ENDING = tuple(
    (key, json.dumps(value))
    for key, value in (
        ("minutes", 10**12),
        ("days", "FREQ=WEEKLY;INTERVAL=0"),
        ("holidays", "christmas"),
        ("day_ends_at", 99),
        ("leading", "X"),
        ("click", "\x1b[2J"),
        ("backing", "louder"),
        ("kit_db", 1e300),
        ("learned", {"model": MODEL_VERSION, "gain": 1e300, "sigma": -1}),
        ("heir/0000000000000001", "0000000000000001"),
        ("heir/x", ["y"]),
        ("student", 7),
    )
)


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a box with practice in it, and nonsense of every kind in every table."""
    path = tmp_path_factory.mktemp("hostile") / "player.box"
    deck, now = small(), datetime.now(UTC)
    with Box.open(path) as box:
        box.put_deck(deck, at=now - timedelta(days=9))
        for day in range(8, 0, -1):
            for slug in ("e", "a"):
                at = now - timedelta(days=day)
                box.record(box.find(slug), bpm=80, grade=Grade.STEADY, at=at, seconds=40)
        card_id = box.find("e")
    usual: dict[str, Any] = {
        "card_id": card_id, "bpm": 90.0, "grade": 0, "at": "2026-03-12T19:30:00.000000Z",
        "zone": "+01:00", "seconds": 40.0, "source": "self",
    }  # fmt: skip
    with closing(lay_open(path)) as db:
        for number, wrong in enumerate(WRONG_IN_A_TAKE.values(), start=1):
            put_take(db, number, usual, **wrong)
        put_take(db, 999, usual, at=LATER)
        for key, value in NEVER_ENDING:
            db.execute("REPLACE INTO setting VALUES (?, ?, ?)", (key, value, LATER))
        db.execute("INSERT INTO setting VALUES ('output', ?, 'never')", (b"\xff",))
        db.execute("INSERT INTO wish VALUES (?, 1e300, 'much', 7, 'never')", (card_id,))
        db.execute("INSERT INTO deck VALUES ('d', 7, 'first', '', '', '', '', 'never', 0)")
        db.execute("INSERT OR REPLACE INTO belief VALUES (?, ?)", (card_id, b"\x00" * 7))
        db.execute("INSERT OR REPLACE INTO course VALUES (?, ?)", (card_id, b"\xff" * 9))
        db.execute("INSERT OR REPLACE INTO feature VALUES (?, '1', 'y')", (card_id,))
    return path


def small() -> Deck:
    """Return a deck of three cards."""
    return parse_deck(
        '[deck]\nid = "d1"\ntitle = "One"\nedition = 1\ngoal = 90\n[groove]\nhat = "beat &"\n'
        'snare = ">2 >4"\nbass = "1 3"\n'
        + "".join(
            f'[[card]]\nid = "{slug}"\ntitle = "{slug}"\nsnare = "{line}"\n'
            for slug, line in (("e", "(e)"), ("a", "(a)"), ("ea", "(e) (a)"))
        ),
        name="d1.toml",
    )


def words_of(command: str, box: Path, folder: Path) -> list[list[str]]:
    """Return ways to call a command."""
    log = folder / "log.jsonl"
    calls: dict[str, list[list[str]]] = {
        "today": [[], ["--json"], ["--plain"]],
        "record": [["e", "82", "steady"], ["e", "9", "steady", "--sure"]],
        "undo": [[], ["00000000"]],
        "why": [["e"]],
        "learn": [[], ["--report"]],
        "cards": [[], ["--json"], ["--plain"]],
        "card": [["e"], ["e", "--json"], ["e", "--plain"]],
        "goals": [["d1", "+5"]],
        "rest": [["e"]],
        "wake": [["e"]],
        "ahead": [["--days", "7"]],
        "family": [["ones"]],
        "path": [["d1"]],
        "decks": [[], ["list"], ["remove", "d1"]],
        "track": [[str(folder / "a.wav"), "e"]],
        "sheet": [["e", "-o", str(folder / "a.svg")]],
        "progress": [["export", str(folder / "p.jsonl")]],
        "studio": [[str(folder)]],
        "checkup": [[], ["--repair"], []],
        "restore": [["--list"]],
        "export": [[str(log)]],
        "import": [[str(log)]],
        "merge": [[str(box)]],
        "set": [[], ["days"], ["minutes", "20"]],
        "completion": [["bash"]],
    }
    return calls.get(command, [[]])


@pytest.mark.parametrize("command", HOMES)
def test_no_command_ends_in_a_traceback(
    command: str, hostile: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """Every command answers with data or with one sentence and its exit code."""
    path, other = tmp_path / "player.box", tmp_path / "other.box"
    shutil.copy(hostile, path)
    shutil.copy(hostile, other)
    for words in words_of(command, other, tmp_path):
        code = run(["--box", str(path), command, *words])
        out, err = capfd.readouterr()
        assert code in {0, 2, 4, 5, 6, 8}, (command, words, out, err)
        assert "Traceback" not in out + err


ASKED: dict[str, Callable[[Box, datetime, str], object]] = {
    "cards": lambda box, at, _: box.cards(at=at),
    "decks": lambda box, at, _: box.decks(at),
    "card": lambda box, at, card: box.card(card, at=at),
    "outlook": lambda box, at, card: box.outlook(card, at=at),
    "plan": lambda box, at, _: box.plan(at),
    "sounding": lambda box, at, _: box.tempo_check(at),
    "why": lambda box, at, card: box.why(card, at=at),
    "compared": lambda box, at, card: box.compared(card, at=at),
    "next_practice": lambda box, at, _: box.next_practice(at=at),
    "ahead": lambda box, at, _: box.ahead(at=at, minutes=15, days=5),
    "history": lambda box, _, card: box.history(card),
    "course": lambda box, _, card: box.course(card),
    "days": lambda box, _, __: box.days(),
    "slipping": lambda box, at, card: box.slipping(card, at=at, days=9),
    "coming": lambda box, at, _: box.coming(at=at, days=9),
    "day": lambda box, at, _: box.day(at),
    "settings": lambda box, _, __: box.settings,
    "learning_is_due": lambda box, at, _: box.learning_is_due(at=at),
    "left_out": lambda box, at, _: box.left_out(at=at),
    "implausible": lambda box, at, card: box.implausible(card, 300.0, at),
    "log": lambda box, _, __: list(box.log()),
    "holdings": lambda box, _, __: box.holdings(),
    "wrong_beliefs": lambda box, _, __: box.wrong_beliefs(),
    "record": lambda box, at, card: box.record(card, 80, Grade.STEADY, at, 30),
    "undo": lambda box, at, _: box.undo(at=at),
}


def test_no_question_of_a_screen_ends_in_an_error(hostile: Path, tmp_path: Path) -> None:
    """Whatever the app asks of the box, it gets an answer."""
    shutil.copy(hostile, tmp_path / "player.box")
    at = datetime.now(UTC)
    with Box.open(tmp_path / "player.box") as box:
        card = box.find("e")
        for ask in ASKED.values():
            ask(box, at, card)


def test_what_is_left_out_is_said_on_today_named_and_mended(
    hostile: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """One line on Today; the checkup names each, and takes back what has an id of ours."""
    path = tmp_path / "player.box"
    shutil.copy(hostile, path)
    run(["--box", str(path), "today"])
    today = capfd.readouterr().out
    run(["--box", str(path), "checkup"])
    named = capfd.readouterr().out
    run(["--box", str(path), "checkup", "--repair"])
    mended = capfd.readouterr().out
    run(["--box", str(path), "today"])
    after = capfd.readouterr().out

    assert f"{len(WRONG_IN_A_TAKE)} entries of the log cannot be used and 1 take is dated" in today
    assert "zone is '+99:99'" in named
    assert "a take is dated 2150-01-01" in named
    assert "the setting minutes makes no sense" in named
    for what in ("a student's id", "a set of learned numbers", "a link between cards"):
        assert f"not well: {what} makes no sense and is passed over ('" in named
        assert what not in mended
    assert "FREQ=WEEKLY;INTERVAL=0" in named
    settled = f"Entries that make no sense taken back or set aside: {len(WRONG_IN_A_TAKE)}."
    assert settled in mended
    assert "of the log cannot be used" not in after
    assert "1 take is dated" in after


def test_a_take_that_waits_can_be_taken_back(
    hostile: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """By the start of its id, as the card lists it; twice is once."""
    path = tmp_path / "player.box"
    shutil.copy(hostile, path)
    run(["--box", str(path), "card", "e", "--json"])
    history = json.loads(capfd.readouterr().out)["history"]
    (waiting,) = (take for take in history if take["at"].startswith("2150"))
    assert 0 == run(["--box", str(path), "undo", waiting["take_id"]])
    assert "Taken back: e, 90 bpm, steady, played 2150-01-01" in capfd.readouterr().out
    run(["--box", str(path), "card", "e", "--json"])
    assert len(history) - 1 == len(json.loads(capfd.readouterr().out)["history"])


@pytest.fixture
def player(tmp_path: Path) -> Path:
    """Return a box in which e of every beat is held at about 92."""
    path = tmp_path / "mine.box"
    with Box.open(path) as box:
        box.put_deck(small(), at=datetime.now(UTC))
        for day in range(9, 0, -1):
            at = datetime.now(UTC) - timedelta(days=day)
            box.record(box.find("e"), bpm=92, grade=Grade.STEADY, at=at, seconds=40)
    return path


def test_a_slip_of_the_keys_does_not_pass_in_silence(
    player: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """9 for 92: refused in a pipe, saved with --sure; a usual take is not asked about."""
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    assert 2 == run(["--box", str(player), "record", "e", "9", "steady"])
    assert "9 bpm is far below the 1" in capfd.readouterr().err
    for words in (["e", "94", "clean"], ["e", "60", "steady"], ["e", "9", "steady", "--sure"]):
        assert 0 == run(["--box", str(player), "record", *words])
    with Box.open(player) as box:
        assert 12 == len(box.history(box.find("e")))


def test_a_take_by_a_wrong_clock_is_asked_about(player: Path) -> None:
    """Before the last take, or years after it; a minute is nothing."""
    now = datetime.now(UTC)
    with Box.open(player) as box:
        e = box.find("e")
        last = box.history(e)[-1].at
        assert box.implausible(e, 92, now) is None
        assert box.implausible(e, 92, last - timedelta(seconds=30)) is None
        assert "earlier than your last take" in str(
            box.implausible(e, 92, last - timedelta(hours=1))
        )
        assert "4 years ago" in str(box.implausible(e, 92, last + timedelta(days=1600)))


@pytest.mark.parametrize("word", ["zz", "", "0", "ffffffffffff", "g" * 40, "%", "ab'cd"])
def test_a_take_that_nobody_has_is_one_sentence(
    player: Path, word: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """No id, no take: exit code 5."""
    assert 5 == run(["--box", str(player), "undo", word])
    assert "drillbox card CARD" in capfd.readouterr().err
