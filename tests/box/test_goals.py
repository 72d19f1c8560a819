"""Goals changed many at once, outgrown goals, and cards that climb or are kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import log, log2
from typing import TYPE_CHECKING

import pytest

from drillbox.base.now import Now
from drillbox.box.dues import Due, Kept
from drillbox.box.kept_at_goal import keeps
from drillbox.deckfile import parse_deck
from drillbox.memory import Belief, Grade
from drillbox.store import Setting

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.box.catalogue import Entry
    from drillbox.deckfile import Deck


def goals(box: Box, clock: ManualClock) -> dict[str, float]:
    """Return every card's goal."""
    return {card.card_id: card.goal_bpm for card in box.cards(at=clock.now())}


def grow(box: Box, clock: ManualClock, name: str) -> str:
    """Play a card for some weeks until it stands far over its goal of 90."""
    card = box.find(name)
    for n in range(9):
        at = clock.now() + timedelta(days=2 * n)
        box.record(card, bpm=100 + 5 * n, grade=Grade.AUTOMATIC, at=at, seconds=40)
    clock.forward(days=18)
    return card


def test_a_change_of_goals_is_seen_before_and_taken_back(box: Box, clock: ManualClock) -> None:
    """A preview changes nothing; made, it holds; undone, goals are as before, the player's too."""
    a, e = box.find("a"), box.find("e")
    box.set_goal(a, bpm=77, at=clock.now())
    before = goals(box, clock)
    changes = box.goals.changes([a, e], by=5)
    assert [(77.0, 82.0), (90.0, 95.0)] == [(c.now_bpm, c.then_bpm) for c in changes]
    assert before == goals(box, clock)
    box.goals.make(changes, at=clock.now())
    assert {82.0, 95.0} == {goals(box, clock)[card] for card in (a, e)}
    assert 2 == box.goals.undo(at=clock.now())
    assert before == goals(box, clock)
    assert 0 == box.goals.undo(at=clock.now())


def test_the_way_back_to_the_decks_goal(box: Box, clock: ManualClock) -> None:
    """Where the player chose a goal, the deck's comes back, and follows its editions again."""
    a = box.find("a")
    box.set_goal(a, bpm=120, at=clock.now())
    changes = box.goals.changes_back(card.card_id for card in box.cards(at=clock.now()))
    assert [(a, 120.0, 90.0)] == [(c.card_id, c.now_bpm, c.then_bpm) for c in changes]
    box.goals.make(changes, at=clock.now())
    assert 90.0 == goals(box, clock)[a]
    assert box.archive.wishes()[a].goal_bpm is None


def test_a_card_outgrows_its_goal_and_is_only_proposed(box: Box, clock: ManualClock) -> None:
    """Held far over its goal for long it is proposed a higher one; nothing is raised by itself."""
    assert () == box.goals.outgrown(box.now(clock.now()))
    a = grow(box, clock, "a")
    (change,) = box.goals.outgrown(box.now(clock.now()))
    assert (a, 90.0, 95.0) == (change.card_id, change.now_bpm, change.then_bpm)
    assert 90.0 == goals(box, clock)[a]
    box.goals.make([change], at=clock.now())
    assert 95.0 == goals(box, clock)[a]


def test_one_automatic_take_proves_no_outgrown_goal(box: Box, clock: ManualClock) -> None:
    """A single easy take is no reason to raise anything."""
    box.record(box.find("a"), bpm=140, grade=Grade.AUTOMATIC, at=clock.now(), seconds=40)
    assert () == box.goals.outgrown(box.now(clock.now()))


def entry(box: Box, card: str) -> Entry:
    """Return a card's entry in the box."""
    return box._catalogue.entry(card)


def tempi_of(box: Box, clock: ManualClock, card: str) -> list[int]:
    """Return the tempi that today's plan has for a card, were it the only one."""
    others = [c.card_id for c in box.cards(at=clock.now()) if c.card_id != card]
    return [i.bpm for i in box.plan(at=clock.now(), minutes=30, without=others).items]


def test_a_card_climbs_unless_it_is_to_be_kept(box: Box, clock: ManualClock) -> None:
    """Far over its goal it is asked for more.

    Kept at its goal, itself or its deck, or at the top tempo that the player names, it holds for
    months: then nothing is worth its seconds, and the day ends early.
    """
    a = grow(box, clock, "a")
    box.goals.set_top(a, bpm=400, at=clock.now())
    assert min(tempi_of(box, clock, a)) > 100
    box.goals.set_top(a, bpm=105, at=clock.now())
    assert [] == tempi_of(box, clock, a)
    box.goals.set_top(a, bpm=400, at=clock.now())
    (deck,) = entry(box, a).deck_ids
    box.goals.set_climbing([deck], climbs=False, at=clock.now())
    assert [] == tempi_of(box, clock, a)
    box.goals.set_climbing([a], climbs=True, at=clock.now())
    assert min(tempi_of(box, clock, a)) > 100


def test_a_deck_file_keeps_its_cards_below_the_players_word(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Cards of a deck that says keep stay at their goals, until the player lets one climb."""
    text = small_deck.text.replace("edition = 1", "edition = 2\nkeep = true")
    settings = box.archive.settings
    a = box.find("a")
    assert not keeps(entry(box, a), settings())
    box.put_deck(parse_deck(text, name="kept.toml"), at=clock.now())
    assert keeps(entry(box, a), settings())
    box.goals.set_climbing([a], climbs=True, at=clock.now())
    assert not keeps(entry(box, a), settings())
    assert keeps(entry(box, box.find("e")), settings())


def believed(box: Box, clock: ManualClock, **changes: float) -> Now:
    """Let something be believed of the card `a`, as of now; goal 90."""
    now = box.now(clock.now())
    usual = Belief(
        mu=log2(120.0), ln_s=log(200.0), var_mu=1e-6, cov=0.0, var_ln_s=0.0,
        at=now.epoch_days, day=now.day, takes_that_day=1, takes=20,
    )  # fmt: skip
    box._beliefs.refresh()
    box._beliefs._by_card[box.find("a")] = replace(usual, **changes)  # type: ignore[arg-type]
    box._beliefs._level = 0.0
    return now


def test_a_goal_is_outgrown_a_fifth_of_an_octave_over_it(box: Box, clock: ManualClock) -> None:
    """15 % over the goal, shown by six takes, and safe for 90 days at one standard deviation.

    From S days, log2(p/90) = m and lam: S (2^((m - sd)/lam) - 1) days. Each limit from both sides.
    """
    over = log2(90.0) + 0.2
    for mu, outgrown in ((over + 1e-6, True), (over - 1e-6, False)):
        now = believed(box, clock, mu=mu)
        assert outgrown == bool(box.goals.outgrown(now))
    for takes, outgrown in ((6, True), (5, False)):
        now = believed(box, clock, takes=takes)
        assert outgrown == bool(box.goals.outgrown(now))
    lam, margin = box.parameters.lam, log2(120.0 / 90.0)
    for sd in (1e-3, 0.05):
        for days, outgrown in ((90.1, True), (89.9, False)):
            stability = days / (2.0 ** ((margin - sd) / lam) - 1.0)
            now = believed(box, clock, ln_s=log(stability), var_mu=sd**2)
            assert outgrown == bool(box.goals.outgrown(now))


def test_what_is_left_of_an_interval_counts_from_now(box: Box, clock: ManualClock) -> None:
    """95.5 days from the last take are 90.5 after five, and after six no longer enough."""
    lam, margin = box.parameters.lam, log2(120.0 / 90.0)
    stability = 95.5 / (2.0 ** ((margin - 1e-3) / lam) - 1.0)
    now = believed(box, clock, ln_s=log(stability), var_mu=1e-6)
    assert box.goals.outgrown(now)
    assert box.goals.outgrown(box.now(clock.now() + timedelta(days=5)))
    assert not box.goals.outgrown(box.now(clock.now() + timedelta(days=6)))


def test_a_card_at_rest_has_outgrown_nothing(box: Box, clock: ManualClock) -> None:
    """What the player set aside is not proposed a higher goal; woken, it is, by five bpm."""
    now = believed(box, clock)
    (change,) = box.goals.outgrown(now)
    assert (95.0, True) == (change.then_bpm, change.own)
    assert 100.0 == box.goals.outgrown(now, by=10.0)[0].then_bpm
    box.rest(box.find("a"), resting=True, at=clock.now())
    believed(box, clock)
    assert () == box.goals.outgrown(now)


def test_goals_stay_in_what_may_be_asked(box: Box, clock: ManualClock) -> None:
    """A goal is moved to 20 at least and 400 at most; what stays as it is, is no change."""
    a = box.find("a")
    assert [20.0] == [c.then_bpm for c in box.goals.changes([a], by=-500)]
    assert [400.0] == [c.then_bpm for c in box.goals.changes([a], by=500)]
    assert () == box.goals.changes([a], to=90.0)
    assert [77.0] == [c.then_bpm for c in box.goals.changes([a], to=77.0)]
    deck = entry(box, a).deck_ids[0]
    box.shift_goals(deck, by=-7.0, at=clock.now())
    assert {83.0, 73.0} == set(goals(box, clock).values())
    box.shift_goals("another", by=50.0, at=clock.now())
    assert {83.0, 73.0} == set(goals(box, clock).values())


def test_many_goals_are_kept_in_pieces(box: Box, clock: ManualClock) -> None:
    """Nine hundred goals stand in three settings; a later change of one clears the other two."""
    keep = box.goals._keep
    keep([[f"c{n}", None] for n in range(900)], clock.now())
    kept = {key: len(box.archive.settings()[key].value) for key in box.goals._kept()}
    assert {"goals-before/0": 400, "goals-before/1": 400, "goals-before/2": 100} == kept
    keep([["c", 80.0]], clock.now())
    kept = {key: len(box.archive.settings()[key].value) for key in box.goals._kept()}
    assert {"goals-before/0": 1, "goals-before/1": 0, "goals-before/2": 0} == kept


def test_undoing_passes_over_cards_that_left_the_box(box: Box, clock: ManualClock) -> None:
    """Of two goals that stood before, one of a card that is no more, one comes back."""
    a = box.find("a")
    box.goals._keep([[a, 70.0], ["f" * 16, 60.0]], clock.now())
    assert 1 == box.goals.undo(at=clock.now())
    assert 70.0 == goals(box, clock)[a]


@pytest.mark.parametrize(
    ("own", "decks", "keeping", "expected"),
    [
        (None, {}, (), False),
        (None, {}, ("d1", "d2"), True),
        (None, {}, ("d1",), False),
        (None, {"d2": True}, ("d1",), True),
        (None, {"d1": False}, ("d1", "d2"), False),
        (True, {}, (), True),
        (False, {"d1": True, "d2": True}, ("d1", "d2"), False),
        ("yes", {}, ("d1", "d2"), True),
    ],
)
def test_a_card_is_kept_if_all_its_decks_keep_it(
    box: Box, own: object, decks: dict[str, bool], keeping: tuple[str, ...], *, expected: bool
) -> None:
    """It climbs if one deck lets it; the player's word on a deck, then on the card, stands above.

    A word that is neither on nor off is none.
    """
    card = replace(entry(box, box.find("a")), deck_ids=("d1", "d2"), keeping=frozenset(keeping))
    at = datetime(2026, 3, 2, tzinfo=UTC)
    said = {f"keep/{deck}": Setting(f"keep/{deck}", value, at) for deck, value in decks.items()}
    if own is not None:
        key = f"keep/{card.row.card_id}"
        said[key] = Setting(key, own, at)
    assert expected == keeps(card, said)
    assert not keeps(replace(card, deck_ids=()), {})


@pytest.mark.parametrize(
    ("reached", "status", "words"),
    [
        (None, "not due", "asked for at 80 by Tue 10 Mar"),
        (date(2026, 3, 10), "met", "asked for at 80 by Tue 10 Mar, met on Tue 10 Mar"),
        (date(2026, 3, 11), "late", "asked for at 80 by Tue 10 Mar, late, reached on Wed 11 Mar"),
        (None, "missed", "asked for at 80 by Tue 10 Mar, missed"),
    ],
)
def test_what_became_of_an_assignment_is_a_fact(
    reached: date | None, status: str, words: str
) -> None:
    """Met by its day, late, missed, or not due yet: the day itself is still in time."""
    due = Due(date(2026, 3, 10), 80.0)
    day = 10 if status == "not due" else 12
    now = Now.of(datetime(2026, 3, day, 9, tzinfo=UTC))
    kept = Kept.of(due, reached=reached, now=now, stands=True)
    assert (status, words) == (kept.status, kept.words)
    later = Now.of(datetime(2030, 1, 1, 9, tzinfo=UTC))
    assert Kept.of(due, reached=reached, now=later, stands=False).status != "not due"


def test_what_is_asked_is_met_while_the_card_stands_there_cold(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """One rule on Today, among the decks and on the card's page: its cold tempo now.

    What is reached early and has slipped again is asked for again while there is time.
    """
    text = small_deck.text + '[[assignment]]\nby = 2027-03-01\ncards = ["e"]\ngoal = 60\n'
    box.put_deck(
        parse_deck(text.replace("edition = 1", "edition = 9"), name="x.toml"), at=clock.now()
    )
    e, start, seen = box.find("e"), clock.now(), set()
    box.record(e, bpm=60, grade=Grade.CLEAN, at=start, seconds=40)
    for days in (0, 1, 30, 300):
        at = start + timedelta(days=days)
        card, (kept,) = box.card(e, at=at), box.assignments(e, at=at)
        stands = card.cold_bpm is not None and card.cold_bpm >= 60.0
        seen.add(stands)
        assert (stands, "met" if stands else "not due") == (card.due_met, kept.status)

    assert {True, False} == seen
    assert not box.card(box.find("a"), at=start).stands_at(1.0)


def test_an_assignment_met_is_kept_and_then_silent(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Asked for at 60 by the tenth: while it is not reached, then met, though it fades later."""
    text = small_deck.text + '[[assignment]]\nby = 2026-03-10\ncards = ["e"]\ngoal = 60\n'
    box.put_deck(
        parse_deck(text.replace("edition = 1", "edition = 9"), name="x.toml"), at=clock.now()
    )
    e, start = box.find("e"), clock.now()
    assert ["not due"] == [kept.status for kept in box.assignments(e, at=start)]
    assert not box.card(e, at=start).due_met
    box.record(e, bpm=80, grade=Grade.CLEAN, at=start, seconds=40)
    assert ["met"] == [kept.status for kept in box.assignments(e, at=start)]
    assert box.card(e, at=start).due_met
    much_later = start + timedelta(days=400)
    kept = box.assignments(e, at=much_later)
    assert [("met", date(2026, 3, 2))] == [(one.status, one.reached) for one in kept]
    assert () == box.assignments(box.find("a"), at=start)
    doubled = box.find("a-doubled")
    assert () == box.assignments(doubled, at=much_later)
