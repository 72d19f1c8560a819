"""A new edition in a student's box.

What was learned goes on, what is gone rests, the student's wishes stand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import beliefs

from drillbox import Box, Grade
from drillbox.base.clock import ManualClock
from drillbox.box.catalogue import Catalogue
from drillbox.box.dues import Due
from drillbox.box.lineage import Link, inherited, lineage, links_in, with_descendants
from drillbox.deckfile import Deck, parse_deck
from drillbox.errors import DeckError
from drillbox.memory import Belief, Parameters, State
from drillbox.store import Wish

if TYPE_CHECKING:
    from pathlib import Path


def edition(deck: Deck, number: int, *changes: tuple[str, str]) -> Deck:
    """Return a later edition, with some of the deck's text changed."""
    text = deck.text.replace("edition = 1", f"edition = {number}")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_deck(text, name="first-ghosts.toml")


E_MOVED = ('snare = "(e)"', 'snare = "(1e) (3e)"')
WITHOUT_A = (
    '[[card]]\nid = "a"\ntitle = "a of every beat"\nsnare = "(a)"\n\n',
    "",
)
NOT_AFTER_A = ('after = ["e", "a"]', 'after = ["e"]')


def practise(
    box: Box, card_id: str, clock: ManualClock, *, days: int = 4, bpm: float = 100
) -> None:
    """Play a card cleanly once a day."""
    for _ in range(days):
        clock.forward(days=1)
        box.record(card_id, bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=40)


@pytest.mark.parametrize("days", range(3, 12))
def test_two_machines_take_an_edition_each_in_its_time_and_lose_nothing(
    small_deck: Deck, days: int
) -> None:
    """Whichever was first, and though the changed card was played before the other had it.

    Five days of the old rhythm on one machine, its new edition and a day of the new one; the other
    machine takes the edition some days earlier or later, then they meet.
    """
    monday = datetime(2026, 3, 2, 9, tzinfo=UTC)
    clock = ManualClock(monday)
    with Box.open(":memory:", clock=clock) as one, Box.open(":memory:", clock=clock) as other:
        for box in (one, other):
            box.put_deck(small_deck, at=monday)
        for day in range(12):
            clock.set(monday + timedelta(days=day))
            if day == days:
                other.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
            if day == 5:
                one.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
            if day < 5 or day == 6:
                grade = Grade.STEADY if day == 6 else Grade.AUTOMATIC
                one.record(one.find("e"), bpm=100, grade=grade, at=clock.now(), seconds=30)
        alone = one.card(one.find("e"), at=clock.now())
        for here, there in ((one, other), (other, one)):
            here.join(there.holdings())
        both = [box.card(box.find("e"), at=clock.now()) for box in (one, other)]

        assert both[0].cold_bpm == both[1].cold_bpm
        assert min(days + 1, 5) + 1 == len(one.course(alone.card_id))
        assert alone.cold_bpm == pytest.approx(both[0].cold_bpm, rel=0.03)


def test_a_rhythm_that_comes_back_keeps_what_it_inherited(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """An edition there, an edition back, and there again: its first link stands."""
    practise(box, box.find("e"), clock)
    box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
    moved = box.find("e")
    practise(box, moved, clock, days=1)
    before = box.course(moved)
    clock.forward(days=1)
    box.put_deck(edition(small_deck, 3), at=clock.now())
    clock.forward(days=1)
    box.put_deck(edition(small_deck, 4, E_MOVED), at=clock.now())

    assert 5 == len(before)
    assert before == box.course(moved)


def test_a_changed_rhythm_goes_on_from_the_old_one_less_surely(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The teacher moves the ghosts.

    The expected tempo stays, the band is wider, nobody starts from nothing.
    """
    practise(box, box.find("e"), clock)
    before = box.outlook(box.find("e"), at=clock.now())
    fresh = box.outlook(box.find("a"), at=clock.now())
    change = box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
    after = box.outlook(box.find("e"), at=clock.now())

    assert ("e",) == change.changed
    assert (
        "e of every beat: snare on the e of 2 and the e of 4 taken out",
    ) == change.clauses  # fmt: skip
    assert before.cold_bpm == pytest.approx(after.cold_bpm)
    assert before.sd < after.sd < fresh.sd
    assert 4 == box.card(box.find("e"), at=clock.now()).takes
    assert State.WAITING is not box.card(box.find("e"), at=clock.now()).state


@examples(60)
@given(beliefs(), st.sampled_from([0.1, 0.5, 3.0]))
def test_what_is_inherited_is_the_same_less_surely(known: Belief, sd: float) -> None:
    """Doubt is added, of the tempo and of how long it lasts: 0.15 octaves, a factor of 1.65.

    Variances add up. Nobody is surer than of the old rhythm, nor, by the change, less sure than of
    a rhythm nobody has played.
    """
    first = replace(Parameters(), first_sd=sd, first_days_sd=sd)
    after = inherited(known, first)
    for before, added, now in (
        (known.var_mu, 0.15**2, after.var_mu),
        (known.var_ln_s, 0.5**2, after.var_ln_s),
    ):
        assert now == pytest.approx(max(before, min(before + added, sd**2)))
    assert known == replace(after, var_mu=known.var_mu, var_ln_s=known.var_ln_s)


def test_the_heirs_own_takes_are_added_to_what_it_inherited(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The first take of the changed rhythm counts as the fifth of the card."""
    practise(box, box.find("e"), clock)
    box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
    unsure = box.outlook(box.find("e"), at=clock.now())
    practise(box, box.find("e"), clock, days=1)

    assert 5 == box.card(box.find("e"), at=clock.now()).takes
    assert 5 == len(box.history(box.find("e")))
    assert box.outlook(box.find("e"), at=clock.now()).sd < unsure.sd


def test_a_rhythm_played_before_it_became_an_heir_keeps_its_own_history(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """An edition takes a change back: the old rhythm's own takes say more than its double's."""
    practise(box, box.find("e"), clock)
    first = box.outlook(box.find("e"), at=clock.now())
    for number, changes in ((2, (E_MOVED,)), (3, ())):
        box.put_deck(edition(small_deck, number, *changes), at=clock.now())

    assert first == box.outlook(box.find("e"), at=clock.now())


def test_a_history_goes_on_through_several_editions(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Each change of the rhythm makes the band wider, and the takes add up."""
    practise(box, box.find("e"), clock)
    seen = []
    for number, strokes in enumerate(('"(1e)"', '"(1e) (2e)"', '"(1e) (2e) (3e)"'), start=2):
        clock.forward(seconds=60)
        changed = edition(small_deck, number, ('"(e)"', strokes))
        box.put_deck(changed, at=clock.now())
        seen.append(box.outlook(box.find("e"), at=clock.now()).sd)

    assert sorted(seen) == seen
    assert seen[0] < seen[-1]
    assert 4 == box.card(box.find("e"), at=clock.now()).takes


def test_takes_that_arrive_late_reach_the_heir(
    tmp_path: Path, box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The laptop played the old rhythm, the desktop had the new edition.

    After they meet, both say the same.
    """
    with Box.open(tmp_path / "desk.box", clock=clock) as desk:
        desk.put_deck(small_deck, at=clock.now())
        practise(box, box.find("e"), clock)
        clock.forward(days=1)
        desk.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
        waiting = desk.card(desk.find("e"), at=clock.now())
        clock.forward(seconds=60)
        box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
        desk.join(box.holdings())
        box.join(desk.holdings())

        assert State.WAITING is waiting.state
        assert 4 == desk.card(desk.find("e"), at=clock.now()).takes
        for name in ("e", "a", "e-a"):
            both = [one.outlook(one.find(name), at=clock.now()) for one in (box, desk)]
            assert both[0] == both[1]


def test_what_is_believed_of_heirs_follows_from_log_and_links_alone(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """Closed, opened again, the cache thrown away, another window: always the same beliefs."""
    place = tmp_path / "player.box"
    with Box.open(place, clock=clock) as box, Box.open(place, clock=clock) as window:
        box.put_deck(small_deck, at=clock.now())
        practise(box, box.find("e"), clock)
        assert window.cards(at=clock.now()) == box.cards(at=clock.now())
        box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())
        practise(window, window.find("e"), clock, days=1)
        expected = box.cards(at=clock.now())
        assert expected == window.cards(at=clock.now())
    with Box.open(place, clock=clock) as box:
        assert expected == box.cards(at=clock.now())
        box.archive.drop_beliefs()
    with Box.open(place, clock=clock) as box:
        assert expected == box.cards(at=clock.now())


def test_a_removed_card_rests_on_the_shelf_with_its_takes(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """It can be looked at and woken, is in no plan, and is reported as removed once."""
    a = box.find("a")
    practise(box, a, clock)
    second = edition(small_deck, 2, WITHOUT_A, NOT_AFTER_A)
    change = box.put_deck(second, at=clock.now())
    again = box.put_deck(replace(second, edition=3), at=clock.now())

    assert (("a",), ()) == (change.removed, again.removed)
    assert "one card removed (a of every beat)" in change.clauses
    assert State.RESTED is box.card(a, at=clock.now()).state
    assert 4 == len(box.history(a))
    assert a not in {item.card_id for item in box.plan(at=clock.now()).items}
    box.rest(a, resting=False, at=clock.now())
    box.put_deck(replace(second, edition=4), at=clock.now())
    assert State.RESTED is not box.card(a, at=clock.now()).state


def test_a_card_that_comes_back_wakes(box: Box, clock: ManualClock, small_deck: Deck) -> None:
    """A later edition has it again: it stands where the teacher put it, as before."""
    a = box.find("a")
    practise(box, a, clock)
    before = box.cards(at=clock.now())
    box.put_deck(edition(small_deck, 2, WITHOUT_A, NOT_AFTER_A), at=clock.now())
    change = box.put_deck(edition(small_deck, 3), at=clock.now())

    assert ("a",) == change.added
    assert before == box.cards(at=clock.now())


def test_a_card_that_another_deck_has_does_not_rest(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """One teacher drops it, the other deck still asks for it."""
    other = replace(
        small_deck,
        id="other",
        cards=tuple(replace(card, deck_id="other") for card in small_deck.cards),
    )
    box.put_deck(other, at=clock.now())
    a = box.find("first-ghosts/a")
    box.put_deck(edition(small_deck, 2, WITHOUT_A, NOT_AFTER_A), at=clock.now())

    assert State.WAITING is box.card(a, at=clock.now()).state
    assert ("other",) == box.card(a, at=clock.now()).deck_ids


def test_a_new_name_for_a_rhythm_is_no_removal(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The card stays the card under its new id."""
    a = box.find("a")
    practise(box, a, clock)
    renamed = edition(small_deck, 2, ('id = "a"', 'id = "late"'), ('["e", "a"]', '["e", "late"]'))
    box.put_deck(renamed, at=clock.now())

    assert a == box.find("late")
    assert State.RESTED is not box.card(a, at=clock.now()).state
    assert 4 == len(box.cards(at=clock.now()))


def test_two_cards_that_swap_their_rhythms_keep_their_own_histories(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The rhythm is the card; its name in the deck only moved."""
    e, a = box.find("e"), box.find("a")
    practise(box, e, clock)
    before = {one: box.outlook(one, at=clock.now()) for one in (e, a)}
    swapped = edition(
        small_deck, 2, ('snare = "(e)"', "snare = 'X'"), ('"(a)"', '"(e)"'), ("'X'", '"(a)"')
    )
    box.put_deck(swapped, at=clock.now())

    assert (a, e) == (box.find("first-ghosts/e"), box.find("first-ghosts/a"))
    assert before == {one: box.outlook(one, at=clock.now()) for one in (e, a)}


def test_the_students_goal_and_rest_go_over_to_the_changed_rhythm(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """What the student wants stands above the deck's goal, whatever the edition does to both."""
    box.set_goal(box.find("e"), bpm=120, at=clock.now())
    box.rest(box.find("a"), resting=True, at=clock.now())
    moved = edition(small_deck, 2, E_MOVED, ('"(a)"', '"(1a)"'), ("goal = 90", "goal = 70"))
    box.put_deck(moved, at=clock.now())

    assert 120 == box.card(box.find("e"), at=clock.now()).goal_bpm
    assert State.RESTED is box.card(box.find("a"), at=clock.now()).state
    assert 70 == box.card(box.find("e-a"), at=clock.now()).goal_bpm


def test_a_deck_that_no_drillbox_reads_any_more_can_be_replaced(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A stored text from another age is no hindrance.

    Its rows are compared, only the words are missing.
    """
    (row,) = box.archive.decks()
    box.archive.put_deck(replace(row, text="[deck"), box.archive.cards())
    change = box.put_deck(edition(small_deck, 2, WITHOUT_A, NOT_AFTER_A), at=clock.now())

    assert (("a",), ()) == (change.removed, change.clauses)
    assert State.RESTED is box.card(box.find("a"), at=clock.now()).state


MOMENT = datetime.fromisoformat("2026-03-02T09:00:00+01:00")
LINKS = st.dictionaries(
    st.sampled_from("abcde"), st.tuples(st.sampled_from("abcde"), st.integers(0, 5)), max_size=5
)


@examples(200)
@given(LINKS, st.sampled_from("abcde"))
def test_links_lead_back_in_time_and_end(made: dict[str, tuple[str, int]], card: str) -> None:
    """Whatever editions did, circles included: a lineage ends, and all who inherit are found."""
    links = {
        one: Link(one, other, MOMENT + timedelta(days=day)) for one, (other, day) in made.items()
    }
    chain = lineage(card, links)
    moments = [link.at for link in chain]

    assert sorted(set(moments), reverse=True) == moments
    for link in chain:
        assert card in with_descendants([link.ancestor], links)


def test_settings_that_are_no_links_are_passed_over(box: Box, clock: ManualClock) -> None:
    """Links live among the settings and disturb none of them, nor are disturbed."""
    box.archive.put_setting("heir/x", 7, clock.now())
    box.change_settings(at=clock.now(), minutes=20)

    assert {} == links_in(box.archive.settings())
    assert 20 == box.settings.minutes


def test_assignments_become_days_for_cards(box: Box, clock: ManualClock, small_deck: Deck) -> None:
    """The nearest day to come counts, at the student's tempo, the assignment's, or the card's."""
    asked = small_deck.text + (
        '[[assignment]]\nby = 2026-03-10\ncards = ["e", "a"]\ngoal = 80\n'
        "[[assignment]]\nby = 2026-06-01\n"
    )
    catalogue = Catalogue(box.archive)
    e, a, doubled = (box.find(name) for name in ("e", "a", "a-doubled"))
    march, june = date(2026, 3, 10), date(2026, 6, 1)
    assert catalogue.due(e, day=march.toordinal()) is None
    box.put_deck(parse_deck(asked, name="d.toml"), at=clock.now())
    box.set_goal(a, bpm=111, at=clock.now())
    catalogue.forget()

    assert Due(march, 80) == catalogue.due(e, day=march.toordinal())
    assert Due(march, 111) == catalogue.due(a, day=1)
    assert Due(june, 90) == catalogue.due(e, day=march.toordinal() + 1)
    assert Due(june, 80) == catalogue.due(doubled, day=1)
    assert catalogue.due(e, day=june.toordinal() + 1) is None
    assert Due(march, 80) == box.card(e, at=clock.now()).due


# Going back, and decks that were put away


def test_an_older_edition_is_refused_unless_it_is_asked_for(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A file found in an old mail must not take the new edition's cards away; on purpose it may."""
    box.put_deck(edition(small_deck, 3, WITHOUT_A, NOT_AFTER_A), at=clock.now())
    shelf = box.cards(at=clock.now())
    with pytest.raises(DeckError, match="edition 2 is older than edition 3, which is in the box"):
        box.put_deck(edition(small_deck, 2), at=clock.now())

    assert shelf == box.cards(at=clock.now())
    assert 3 == box.put_deck(edition(small_deck, 3), at=clock.now()).edition
    assert 2 == box.put_deck(edition(small_deck, 2), at=clock.now(), older=True).edition


def test_a_new_edition_leaves_a_deck_that_was_put_away_away(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """What the student put away stays away until the student takes it out."""
    box.archive_deck(small_deck.id, archived=True)
    box.put_deck(edition(small_deck, 2, E_MOVED), at=clock.now())

    assert [True] == [deck.archived for deck in box.decks(clock.now())]
    assert () == box.cards(at=clock.now())


def test_renamed_cards_are_neither_added_nor_removed(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Four ids are other than they were: the headline and the details say the same of them."""
    text = small_deck.text.replace("edition = 1", "edition = 2")
    for old in ("a-doubled", "e-a", "e", "a"):
        text = text.replace(f'"{old}"', f'"new-{old}"')
    change = box.put_deck(parse_deck(text, name="d.toml"), at=clock.now())

    assert ((), ()) == (change.added, change.removed)
    assert {"new-a-doubled", "new-e-a", "new-e", "new-a"} == set(change.changed)
    assert 4 == sum("id '" in clause for clause in change.clauses)
    assert not [c for c in change.clauses if "added" in c or "removed" in c]


@pytest.mark.parametrize("goal", [True, False])
def test_a_wish_changes_in_what_was_wished_alone(
    box: Box, clock: ManualClock, small_deck: Deck, *, goal: bool
) -> None:
    """Every other field stays: a goal wipes no rest and no importance, a rest no goal."""
    card_id = small_deck.cards[0].card_id
    before = Wish(card_id, 77.0, 4.0, resting=True, at=clock.now())
    box.archive.put_wish(before)
    clock.forward(seconds=60)
    if goal:
        box.set_goal(card_id, bpm=81, at=clock.now())
        wanted = replace(before, goal_bpm=81.0)
    else:
        box.rest(card_id, resting=False, at=clock.now())
        wanted = replace(before, resting=False)

    assert replace(wanted, at=clock.now()) == box.archive.wishes()[card_id]
