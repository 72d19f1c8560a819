"""A practice day at the command line: every number that is printed is the box's own."""

from __future__ import annotations

import re
import wave
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from drillbox.base.wording import counted
from drillbox.box import Box
from drillbox.box.practice import by_card
from drillbox.cli.plain import in_words
from drillbox.cli.track import WARM_SHARE
from drillbox.memory import Grade
from drillbox.report.calibration import calibration, calibration_chart
from drillbox.report.time_away import after_time_away

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from cli_kit import Player


def practise(player: Player, *takes: tuple[str, float, Grade], days: int = 1) -> None:
    """Record takes on each of some days, a minute apart, and go on to the next day."""
    for _ in range(days):
        with player.box() as box:
            for minute, (name, bpm, grade) in enumerate(takes):
                at = player.clock.now() + timedelta(minutes=minute)
                box.record(box.find(name), bpm=bpm, grade=grade, at=at, seconds=40)
        player.clock.forward(days=1)


def spelled(seconds: float) -> str:
    """Return a length in minutes and seconds, in words."""
    minutes, rest = divmod(round(seconds), 60)
    whole = f"{counted(minutes, 'minute')} " if minutes else ""
    return f"{whole}{counted(rest, 'second')}"


def test_today_is_the_boxes_plan_card_by_card(player: Player) -> None:
    """As a table, in plain words and as values: tempo, takes, minutes and seconds, reason."""
    with player.box() as box:
        plan = box.plan(at=player.clock.now(), minutes=box.settings.minutes)
        titles = {card.card_id: card.title for card in box.cards(at=player.clock.now())}
    items = by_card(plan.items)
    table, reasons, gap = player("today").out.split("\n\n")
    rows = [re.split(r" {2,}", row) for row in table.splitlines()]
    values = player.values("today")
    plain = player("today", "--plain").out.splitlines()

    assert ["card", "bpm", "takes", "time"] == rows[0]
    for item, row, said in zip(items, rows[1:], reasons.splitlines(), strict=True):
        minutes, seconds = divmod(round(item.seconds), 60)
        title = titles[item.card_id]
        assert [title, str(item.bpm), str(item.takes), f"{minutes}:{seconds:02}"] == row
        assert f"{title}: {item.why}" == said
    assert [
        line
        for n, item in enumerate(items, start=1)
        for line in (
            f"{n} of {len(items)}: {titles[item.card_id]}",
            f"tempo: {item.bpm} bpm",
            f"takes: {item.takes}",
            f"time: {spelled(item.seconds)}",
            f"why: {item.why}",
        )
    ] == plain[:-1]
    whole = (15 * 60 - round(plan.seconds)) // 60
    open_still = f"{whole} minutes are open: more takes follow as you grade, or the day ends early."
    assert [open_still, open_still] == [gap.strip(), plain[-1]]
    assert (15, round(plan.left_seconds), []) == (
        values["minutes"], values["seconds_left"], values["notes"],
    )  # fmt: skip
    assert [
        {"card_id": i.card_id, "title": titles[i.card_id], "part": i.part.value, "bpm": i.bpm,
         "takes": i.takes, "seconds": round(i.seconds), "why": i.why}
        for i in plan.items
    ] == values["items"]  # fmt: skip


def test_minutes_are_the_days_unless_asked_for_otherwise(player: Player) -> None:
    """The setting's, those chosen for today, those of the command; from one to four hours."""
    assert 15 == player.values("today")["minutes"]
    with player.box() as box:
        box.choose_minutes_today(25, at=player.clock.now())
    assert 25 == player.values("today")["minutes"]
    for minutes in (1, 240):
        assert minutes == player.values("today", "--minutes", str(minutes))["minutes"]
    for minutes in (0, 241):
        assert 2 == player("today", "--minutes", str(minutes)).code
    assert player.values("today", "--minutes", "5")["seconds_left"] <= 300


def test_a_box_with_nothing_to_play_says_why(player: Player) -> None:
    """With every card set aside, the day is not over, for nothing was played."""
    player("rest", "every")
    nothing = "Nothing to play: every card is rested, or the minutes are too short."
    assert nothing == " ".join(player("today").out.split())


def test_a_day_that_is_over_says_so(player: Player) -> None:
    """In the app's words, and how to play on; a box without a deck says that instead."""
    practise(player, *[("e", 80, Grade.CLEAN)] * 30, days=1)
    player.clock.forward(days=-0.5)
    with player.box() as box:
        at = player.clock.now()
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=at, seconds=3000)
    over = "Done for today. Come back tomorrow, or 'drillbox today --minutes 75' lists five minutes"
    assert f"{over} more.\n" == player("today").out
    assert [] == player.values("today")["items"]
    assert player.values("today", "--minutes", "75")["items"]
    with player.box() as box:
        for _ in range(3):
            box.record(box.find("a"), bpm=80, grade=Grade.CLEAN, at=at, seconds=3600)
    assert "Done for today. Come back tomorrow.\n" == player("today").out
    with player.box() as box:
        box.change_settings(at=at, days="thu")
    assert "Done for today. Come back on Thu 5 Mar.\n" == player("today").out
    player("decks", "archive", "first-ghosts")
    for command in ("today", "cards"):
        assert player(command).out.startswith("Every deck is put away: 'drillbox decks archive")
    player("decks", "remove", "first-ghosts")
    assert player("today").out.startswith("No deck in the box. 'drillbox decks' lists the starter")


def test_a_day_that_is_no_practice_day_says_so(player: Player) -> None:
    """With the next one, before the plan; on a practice day nothing is said."""
    player("set", "days", "tue thu")
    off = player("today").out
    player.clock.forward(days=1)
    words = "No practice day: the next is Tue 3 Mar. What you play today counts all the same.\n\n"

    assert off.startswith(f"{words}card ")
    assert player("today").out.startswith("card ")


def test_a_long_time_away_is_told_until_the_first_take(player: Player) -> None:
    """Once today has a take, it is not said again."""
    practise(player, ("e", 95, Grade.CLEAN), days=3)
    player.clock.forward(days=20)
    with player.box() as box:
        away = after_time_away(box, at=player.clock.now())
    assert away
    assert player("today").out.startswith(f"{away}\n\ncard ")
    player("record", "e", "80", "clean")
    assert player("today").out.startswith("card ")


def test_recorded_takes_are_in_the_log_as_typed(player: Player) -> None:
    """One is one object, two are a list; length as asked; what is said names each."""
    one = player.values("record", "e", "82", "clean")
    two = player.values("record", "e 83.5 fell apart, a 71 auto", "--seconds", "30.5")
    said = player("record", "e-a", "60", "sh,", "a-doubled", "70", "steady")
    with player.box() as box:
        takes = {take.bpm: take for take in box.archive.takes()}
        titles = {bpm: box.title(take.card_id) for bpm, take in takes.items()}

    assert {82.0: 45.0, 83.5: 30.5, 71.0: 30.5, 60.0: 45.0, 70.0: 45.0} == {
        bpm: take.seconds for bpm, take in takes.items()
    }
    assert {82.0: 1, 83.5: -2, 71.0: 2, 60.0: -1, 70.0: 0} == {
        bpm: take.grade for bpm, take in takes.items()
    }
    assert [takes[bpm].id for bpm in (82.0, 83.5, 71.0)] == [t["take_id"] for t in (one, *two)]
    assert {
        "take_id": takes[82].id, "card_id": takes[82].card_id, "bpm": 82.0, "grade": "clean",
        "at": "2026-03-02T09:00:00+01:00", "seconds": 45.0, "cold": True, "source": "self",
    } == one  # fmt: skip
    lines = said.out.splitlines()
    assert f"Saved: {titles[60]}, 60 bpm, shaky." == lines[0]
    assert f"Saved: {titles[70]}, 70 bpm, steady." == lines[2]
    assert 4 == len(lines)
    for seconds, code in (("0", 0), ("3600", 0), ("3601", 2), ("-1", 2), ("nan", 2)):
        assert code == player("record", "a", "70", "clean", "--sure", "--seconds", seconds).code
    assert "0 s is no whole pass" in player("record", "a", "70", "clean", "--seconds", "0").err


def test_what_looks_like_a_mistake_is_asked_about(player: Player) -> None:
    """Yes saves it, anything else and no answer do not; --sure asks nothing."""
    practise(player, ("e", 90, Grade.CLEAN), days=4)

    def takes() -> int:
        return int(player.values("card", "e")["takes"])

    assert 2 == player("record", "e", "9", "steady").code
    for answer, code, more in (("n\n", 130, 0), ("", 130, 0), ("y\n", 0, 1)):
        before = takes()
        player.types(answer)
        said = player("record", "e", "9", "steady")
        assert (code, before + more) == (said.code, takes())
        assert "Save it?" in said.err
    player.types("")
    assert 0 == player("record", "e", "9", "steady", "--sure").code
    assert "Save it?" not in player("record", "e", "88", "steady").err


def test_undo_names_what_it_takes_back(player: Player) -> None:
    """Of any take, when it was played; of a card that has left the box, its id."""
    first = player.values("record", "e", "80.5", "clean")
    player.clock.forward(days=1)
    assert "No take of today to take back.\n" == player("undo").out
    player("record", "a", "70", "shaky")
    assert "Taken back: a of every beat, 70 bpm, shaky.\n" == player("undo").out
    player("decks", "remove", "first-ghosts")
    assert (
        f"Taken back: card {first['card_id']}, 80.5 bpm, clean, played 2026-03-02 09:00.\n"
        == player("undo", first["take_id"][:8]).out
    )
    assert [] == player.box().archive.takes()
    assert (
        f"Nothing to do, it was taken back before: card {first['card_id']}, 80.5 bpm, clean,"
        " played 2026-03-02 09:00.\n" == player("undo", first["take_id"][:8]).out
    )


def test_why_is_the_boxes_answer(player: Player) -> None:
    """In lines and as values."""
    practise(player, ("e", 80, Grade.CLEAN), days=2)
    with player.box() as box:
        card, at = box.find("e"), player.clock.now()
        why, compared = box.why(card, at=at), box.compared(card, at=at)
    assert f"e of every beat\n{why}\n{compared}\n" == player("why", "e").out
    assert {"card_id": card, "why": why, "compared": compared} == player.values("why", "e")


def test_learning_says_what_it_says(player: Player) -> None:
    """With few takes nothing is learned; the report is the chart of what was foretold."""
    assert "No card was played on two days yet.\n" == player("learn", "--report").out
    practise(player, ("e", 80, Grade.CLEAN), ("a", 70, Grade.SHAKY), days=6)
    with player.box() as box:
        tenths = calibration(box)
    assert f"{calibration_chart(tenths, width=80)}\n" == player("learn", "--report").out
    assert [
        {"foretold": round(t.said, 3), "came_off": round(t.seen, 3), "takes": t.takes}
        for t in tenths
    ] == player.values("learn", "--report")
    with player.box() as box:
        lesson = box.learn(at=player.clock.now())
    said = "".join(f"{line}\n" for line in ("From 12 takes, your newest:", "", *lesson.sentences))
    assert said == player("learn").out
    assert {"changed": False, "sentences": list(lesson.sentences)} == player.values("learn")


def test_learning_from_nothing_says_what_it_takes(player: Player) -> None:
    """Without a take there is none to learn from, and one line says how many are wanted."""
    fewest = "0 first takes of a day so far; from 200 on your own numbers can be learned.\n"
    assert fewest == player("learn").out
    practise(player, ("e", 80, Grade.CLEAN), days=1)
    assert player("learn").out.startswith("From 1 take, your newest:\n\n1 first take of a day")


def test_cards_are_listed_with_their_numbers(player: Player) -> None:
    """As a table, in plain words and as values; tempos whole, a dash where there is none."""
    practise(player, ("e", 81, Grade.CLEAN), ("e", 83, Grade.CLEAN), ("a", 70, Grade.FELL_APART))
    with player.box() as box:
        cards = box.cards(at=player.clock.now())
    head, *rows = (re.split(r" {2,}", row.strip()) for row in player("cards").out.splitlines())
    plain = player("cards", "--plain").out

    assert ["name", "card", "state", "cold", "goal", "takes"] == head
    for card, row in zip(cards, rows, strict=True):
        cold = "–" if card.cold_bpm is None else f"{card.cold_bpm:.0f}"
        goal, takes = f"{card.goal_bpm:.0f}", str(card.takes)
        assert [card.places[0], card.title, card.state.value, cold, goal, takes] == row
        assert f": {card.title}\nname: {card.places[0]}\nstate: {card.state.value}\n" in plain
    assert plain.startswith("1 of 4: e of every beat\n")
    assert 1 == plain.count("cold tempo now: ")
    for card, told in zip(cards, player.values("cards"), strict=True):
        assert {
            "card_id": card.card_id, "title": card.title, "decks": list(card.deck_ids),
            "state": card.state.value, "goal_bpm": card.goal_bpm, "importance": card.importance,
            "cold_bpm": card.cold_bpm and round(card.cold_bpm, 1),
            "low_bpm": card.low_bpm and round(card.low_bpm, 1),
            "high_bpm": card.high_bpm and round(card.high_bpm, 1),
            "takes": card.takes, "last_bpm": card.last_bpm, "asked_for": None,
            "last_played": card.last_played and card.last_played.isoformat(timespec="seconds"),
            "slips_at": card.returns and card.returns.isoformat(timespec="seconds"),
            "pattern": card.notation,
        } == told  # fmt: skip
    assert ["e and a of every beat"] == [
        c["title"] for c in player.values("cards", "e-a", "goal>80")
    ]


def test_a_card_shows_what_is_expected_and_every_take(player: Player) -> None:
    """Cold and warm, with the start of each take's id; before it comes together, none is said."""
    practise(player, ("e", 81, Grade.CLEAN), ("e", 83, Grade.STEADY), ("a", 70, Grade.FELL_APART))
    with player.box() as box:
        card = box.card(box.find("e"), at=player.clock.now())
        takes = box.history(card.card_id)
        why = box.why(card.card_id, at=player.clock.now())
    out, plain = player("card", "e").out, player("card", "e", "--plain").out.splitlines()

    assert f"e of every beat ({card.card_id}, in first-ghosts)\n\n" in out
    assert f"\n{card.state.value}, goal 90 bpm\n" in out
    span = f"({card.low_bpm:.0f} to {card.high_bpm:.0f})"
    assert f"\ncold now about {card.cold_bpm:.0f} {span}\n{why}\n\nplayed" in out
    rows = [re.split(r" {2,}", row) for row in out.split(f"{why}\n\n")[1].splitlines()]
    assert [
        ["played", "bpm", "grade", "take"],
        ["2026-03-02 09:00", "81", "clean", "cold", takes[0].short_id],
        ["2026-03-02 09:01", "83", "steady", "warm", takes[1].short_id],
    ] == rows
    assert [
        "card: e of every beat", f"id: {card.card_id}", "name: first-ghosts/e",
        *in_words(card.pattern),
        f"state: {card.state.value}", f"cold tempo now: {card.cold_bpm:.0f} bpm", "goal: 90 bpm",
        "takes: 2", f"expected from: {card.low_bpm:.0f} bpm",
        f"expected to: {card.high_bpm:.0f} bpm", f"why: {why}",
        f"take 1 of 2: 2026-03-02 09:00, 81 bpm, clean, cold, id {takes[0].short_id}",
        f"take 2 of 2: 2026-03-02 09:01, 83 bpm, steady, warm, id {takes[1].short_id}",
    ] == plain  # fmt: skip
    assert "not together yet: no cold tempo before a take holds together" in player("card", "a").out
    unplayed = player("card", "e-a").out
    assert "not together" not in unplayed
    assert "played" not in unplayed.splitlines()[-1].split("  ")
    values = player.values("card", "e")
    assert [t.take_id for t in takes] == [t["take_id"] for t in values["history"]]
    assert (why, "", []) == (values["why"], values["note"], values["assignments"])


def test_a_card_says_what_is_asked_of_it_and_what_was_heard(player: Player) -> None:
    """Each assignment in words and as values; of measured takes the months."""
    measured: dict[str, Any] = {
        "version": 1, "bpm": 80.0, "spread_ms": 9.0, "wrong_percent": 0.0, "contrast_db": 14.0,
        "ghosts_ms": None, "spacing_ms": 187.5, "unheard_share": 0.0, "proposed": 1, "partials": [],
    }  # fmt: skip
    assert "measured" not in player("card", "e").out
    with player.box() as box:
        text = box.archive.decks()[0].text.replace("edition = 1", "edition = 2")
        text = text.replace('id = "e"', 'id = "e"\nnote = "Lower."')
        text += '\n[[assignment]]\nby = 2026-03-11\ncards = ["e"]\ngoal = 84\n'
        path = player.path.with_name("second.toml")
        path.write_text(text, encoding="utf-8")
        box.record(
            box.find("e"), bpm=80, grade=Grade.CLEAN, at=player.clock.now(), seconds=40,
            source="audio", measured=measured,
        )  # fmt: skip
    player("decks", "add", str(path))
    with player.box() as box:
        (kept,) = box.assignments(box.find("e"), at=player.clock.now())
    out, values = player("card", "e").out, player.values("card", "e")

    assert f"\n{kept.words}\n" in out
    assert "\nLower.\n" in out
    assert "note: Lower." in player("card", "e", "--plain").out.splitlines()
    assert "note" not in player("card", "a", "--plain").out
    assert out.endswith("\n2026-03: 1 take measured, spread 9 ms, accents over ghosts 14 dB\n")
    assert [
        {"by": "2026-03-11", "goal_bpm": 84.0, "status": kept.status,
         "reached": kept.reached and kept.reached.isoformat()}
    ] == values["assignments"]  # fmt: skip
    assert {"by": "2026-03-11", "goal_bpm": 84.0} == values["asked_for"]
    assert "Lower." == values["note"]
    assert date(2026, 3, 11) == kept.due.by


def test_the_year_is_as_wide_as_asked_for(player: Player, tmp_path: Path) -> None:
    """Eighty columns unless asked; from 40 to 300; a page replaces an earlier one."""
    practise(player, ("e", 95, Grade.CLEAN), days=12)
    for asked, width in (((), 80), (("--width", "40"), 40), (("--width", "300"), 300)):
        lines = player("year", *asked).out.splitlines()
        assert width - 10 < max(map(len, lines)) <= width
    for wrong in ("39", "301"):
        assert 2 == player("year", "--width", wrong).code
    page = tmp_path / "year.html"
    for _ in range(2):
        said = player("year", "--html", str(page))
        assert (0, "", f"Written: {page}\n") == said
    assert page.read_text(encoding="utf-8").startswith("<!")


def test_days_ahead_are_the_boxes(player: Player, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten and fifteen minutes over ninety days unless asked; charts on one scale."""
    asked: list[tuple[object, float, int]] = []

    def ahead(_: Box, *, at: object, minutes: float, days: int) -> tuple[int, ...]:
        asked.append((at, minutes, days))
        return tuple(int(day * minutes) // 100 for day in range(days))

    monkeypatch.setattr(Box, "ahead", ahead)
    now = player.clock.now()
    courses = {minutes: [day * minutes // 100 for day in range(90)] for minutes in (10, 15)}
    assert {"10": courses[10], "15": courses[15]} == player.values("ahead")
    assert {"20": [0, 0, 0, 0, 0, 1, 1]} == player.values("ahead", "--minutes", "20", "--days", "7")
    assert [(now, 10, 90), (now, 15, 90), (now, 20, 7)] == asked
    two = player.values("ahead", "--minutes", "5", "--minutes", "30", "--days", "7")
    assert ["5", "30"] == list(two)
    out = player("ahead").out
    for minutes in (10, 15):
        hand = counted(courses[minutes][-1], "card")
        assert f"{minutes} minutes a day: {hand} in hand after 90 days\n\n" in out
    first, second = out.split("\n\n")[0].splitlines()
    assert (
        "Cards in hand on each of the next 90 days, if every take comes off as expected." == first
    )
    assert "'drillbox path' says what decks take students with good and bad days." in second
    assert 2 == len(re.findall(r"^ *13 │", out, flags=re.MULTILINE))
    assert 2 == len(re.findall(r"^ +tomorrow +day 90$", out, flags=re.MULTILINE))
    for words, code in (
        (("--days", "6"), 2), (("--days", "366"), 2), (("--minutes", "4"), 2),
        (("--minutes", "121"), 2), (("--minutes", "5", "--days", "7"), 0),
    ):  # fmt: skip
        assert code == player("ahead", *words).code


def test_a_track_takes_what_it_is_given(
    player: Player, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cards at their cold tempo, new ones below their goal, a plan at its tempos, or all at one."""
    practise(player, ("e", 80, Grade.CLEAN))
    made: list[list[object]] = []

    def track(takes: list[object]) -> list[object]:
        made.append(takes)
        return []

    monkeypatch.setattr("drillbox.sound.practice_track", track)
    monkeypatch.setattr("drillbox.sound.write_wav", lambda file, _, over: file.write_bytes(b"x"))
    file = tmp_path / "t.wav"
    with player.box() as box:
        at = player.clock.now()
        cards = box.cards(at=at)
        plan = box.plan(at=at, minutes=15).items
        titles = {card.card_id: card.title for card in cards}
    usual = {c.title: round(c.cold_bpm or c.goal_bpm * WARM_SHARE) for c in cards}
    assert 0.9 == WARM_SHARE

    def lines(*tempi: tuple[str, int]) -> str:
        rows = (f"{n:>3}  {title}, {bpm} bpm\n" for n, (title, bpm) in enumerate(tempi, start=1))
        return f"{''.join(rows)}Written: {file}\n"

    assert lines(*usual.items()) == player("track", str(file), "--deck", "first-ghosts").out
    assert lines(*[(t, 77) for t in usual]) == (
        player("track", str(file), "--deck", "first-ghosts", "--bpm", "77").out
    )
    assert (
        lines(("a of every beat", usual["a of every beat"])) == player("track", str(file), "a").out
    )
    assert lines(*[(titles[i.card_id], i.bpm) for i in plan]) == (
        player("track", str(file), "--today").out
    )
    assert [4, 4, 1, len(plan)] == [len(takes) for takes in made]
    for words, what in (
        ((), "say what goes on the track"),
        (("e", "--today"), "say what goes on the track"),
        (("--today", "--deck", "first-ghosts"), "say what goes on the track"),
        (("--deck", "x"), "no deck 'x' with cards in the box"),
    ):
        said = player("track", str(file), *words)
        assert (2, True) == (said.code, what in said.err)
    player("rest", "every")
    assert "today's plan is empty" in player("track", str(file), "--today").err
    assert 5 == len(made) + 1


def test_a_take_on_a_track_has_its_count_in_and_its_passes(player: Player, tmp_path: Path) -> None:
    """Read by the standard library: twice the tempo is about as long, for it has more passes."""
    lengths = []
    for bpm in ("60", "120"):
        file = tmp_path / f"{bpm}.wav"
        assert 0 == player("track", str(file), "e", "--bpm", bpm).code
        with wave.open(str(file)) as sound:
            lengths.append(sound.getnframes() / sound.getframerate())
    assert 30 < min(lengths) <= max(lengths) < 75
