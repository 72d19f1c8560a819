"""The order of a practice, by worked examples and laws."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from drillbox.plan import Part
from drillbox.plan.order import arrange, interleave

ALONE = dict.fromkeys(range(20), "")
"""Cards of no family."""


def order_of(success: dict[int, float], **changes: Any) -> list[int]:
    """Return the cards in playing order, those at 0.7 and above fit to open and close."""
    usual: dict[str, Any] = {
        "success": success,
        "family": ALONE,
        "steady": {c for c, p in success.items() if p >= 0.7},
        "begun": False,
    }
    return [card for card, _ in arrange(list(success), **(usual | changes))]


def parts_of(success: dict[int, float], **changes: Any) -> list[Part]:
    """Return the parts in playing order."""
    steady = {c for c, p in success.items() if p >= 0.7}
    usual: dict[str, Any] = {
        "success": success, "family": ALONE, "steady": steady, "begun": False,
    }  # fmt: skip
    return [part for _, part in arrange(list(success), **(usual | changes))]


def test_easiest_first_next_easiest_last_hardest_in_the_middle() -> None:
    """Of seven cards 0.9 opens and 0.8 closes; between them the chances fall, then rise."""
    success = {0: 0.5, 1: 0.9, 2: 0.3, 3: 0.8, 4: 0.6, 5: 0.1, 6: 0.4}
    assert [1, 4, 6, 5, 2, 0, 3] == order_of(success)
    assert [Part.WARM_UP, *[Part.WORK] * 5, Part.WRAP_UP] == parts_of(success)


def test_cards_as_likely_keep_their_own_order() -> None:
    """Chances that are one hundredth when rounded make no middle; a hundredth apart they do."""
    assert [2, 5, 7, 9] == order_of({9: 0.5, 5: 0.5, 7: 0.5, 2: 0.5})
    assert [2, 5, 7, 9] == order_of({2: 0.504, 5: 0.503, 7: 0.502, 9: 0.501})
    assert [2, 7, 9, 5] == order_of({2: 0.506, 5: 0.504, 7: 0.502, 9: 0.501})


def test_the_warm_up_is_the_easiest_and_of_equals_the_first() -> None:
    """Two cards at 0.9: the first opens, the second closes."""
    assert [0, 2, 1] == order_of({1: 0.9, 0: 0.9, 2: 0.2})


def test_two_cards_have_no_wrap_up() -> None:
    """With two cards there is a warm-up and work; three make a wrap-up."""
    assert [Part.WARM_UP, Part.WORK] == parts_of({0: 0.9, 1: 0.8})
    assert [Part.WARM_UP, Part.WORK, Part.WRAP_UP] == parts_of({0: 0.9, 1: 0.8, 2: 0.75})


def test_nothing_easy_no_warm_up_and_no_wrap_up() -> None:
    """Where no card holds, all is work."""
    assert [Part.WORK] * 3 == parts_of({0: 0.1, 1: 0.2, 2: 0.3})
    assert [] == order_of({})


def test_once_begun_the_easiest_card_is_kept_for_the_end() -> None:
    """In the middle of a practice there is no second warm-up."""
    success = {0: 0.9, 1: 0.2, 2: 0.3}
    assert [2, 1, 0] == order_of(success, begun=True)
    assert [Part.WORK, Part.WORK, Part.WRAP_UP] == parts_of(success, begun=True)


def test_the_card_on_the_stand_goes_on() -> None:
    """It stays first whatever its chance, and is neither warm-up nor wrap-up."""
    success = {0: 0.9, 1: 0.2, 2: 0.95, 3: 0.3}
    assert [2, 3, 1, 0] == order_of(success, begun=True, first=2)
    assert [Part.WORK] * 3 + [Part.WRAP_UP] == parts_of(success, begun=True, first=2)


def test_neighbours_of_one_family_are_parted() -> None:
    """A card of another family is brought forward; cards of no family part nobody's."""
    same = dict.fromkeys(range(6), 0.5)
    family = {0: "x", 1: "x", 2: "y", 3: "y", 4: "x", 5: "y"}
    assert [0, 2, 1, 3, 4, 5] == order_of(same, family=family)
    assert [0, 1, 2] == order_of({0: 0.5, 1: 0.5, 2: 0.5})
    # Two cards are left as they are: there is nobody to put between them.
    assert [0, 1] == order_of({0: 0.5, 1: 0.4}, family=dict.fromkeys(range(2), "x"))


def test_the_first_work_card_differs_from_the_warm_up() -> None:
    """The warm-up counts as a neighbour, and stays the warm-up."""
    success = {0: 0.9, 1: 0.5, 2: 0.5}
    assert [0, 2, 1] == order_of(success, family={0: "x", 1: "x", 2: "y"})


def test_two_cards_of_work_after_a_warm_up_are_parted_too() -> None:
    """A warm-up and two more are three neighbours already; a warm-up and one are not."""
    success = {0: 0.9, 1: 0.5, 2: 0.4}
    assert [0, 2, 1] == order_of(success, family={0: "x", 1: "x", 2: "y"})
    assert [1, 0] == order_of({0: 0.2, 1: 0.9}, family={0: "x", 1: "x"})


def test_what_a_card_builds_on_comes_before_it() -> None:
    """A chain 3 on 2 on 0 is begun from its root, wherever the order had put it."""
    same = dict.fromkeys(range(4), 0.5)
    built = order_of(same, builds_on={0: [2], 2: [3], 9: [1]})
    assert [3, 2, 0, 1] == built
    # One that is not of this practice's work holds up nothing.
    assert [0, 1] == order_of({0: 0.5, 1: 0.5}, builds_on={0: [7]})


@given(
    st.dictionaries(st.integers(0, 19), st.floats(0.0, 1.0), max_size=12),
    st.lists(st.sampled_from(["", "x", "y", "z"]), min_size=20, max_size=20),
    st.booleans(),
)
def test_every_card_is_played_once(
    success: dict[int, float],
    families: list[str],
    begun: bool,  # noqa: FBT001 - drawn
) -> None:
    """The order is one of the cards chosen, with at most one warm-up and one wrap-up, at the ends.

    And the hardest card is never at an end of a work of three or more that differ.
    """
    family = dict(enumerate(families))
    steady = {c for c, p in success.items() if p >= 0.7}
    seen = arrange(list(success), success=success, family=family, steady=steady, begun=begun)
    parts = [part for _, part in seen]
    assert sorted(success) == sorted(card for card, _ in seen)
    assert sorted(parts, key=list(Part).index) == parts
    assert parts.count(Part.WARM_UP) == (1 if steady and not begun else 0)
    assert parts.count(Part.WRAP_UP) == (len(seen) > 2 and len(steady) > (not begun))
    assert all(c in steady for c, part in seen if part is not Part.WORK)


def numbered(*cards: int, last: int | None = None) -> list[tuple[int, Part]]:
    """Return cards of work in order, and a wrap-up."""
    work = [(card, Part.WORK) for card in cards]
    return work if last is None else [*work, (last, Part.WRAP_UP)]


def test_meetings_alternate_with_the_other_cards() -> None:
    """A B A C A D, then E closes: each further take comes one card later."""
    seen = interleave(numbered(0, 1, 2, 3, last=4), {0: 2})
    assert [(0, 0), (1, 0), (0, 1), (2, 0), (0, 2), (3, 0), (4, 0)] == [(c, n) for c, _, n in seen]
    assert [Part.WORK] * 6 + [Part.WRAP_UP] == [part for _, part, _ in seen]


def test_two_meetings_take_turns() -> None:
    """A B A B A B: both new, two further takes each; what is left over comes at the end."""
    seen = [(card, n) for card, _, n in interleave(numbered(0, 1), {0: 2, 1: 2})]
    assert [(0, 0), (1, 0), (0, 1), (1, 1), (0, 2), (1, 2)] == seen


def test_a_meeting_alone_is_played_through() -> None:
    """With nobody to put between, its takes follow each other, and a warm-up's count as work."""
    seen = interleave([(7, Part.WARM_UP)], {7: 2})
    assert [(7, Part.WARM_UP, 0), (7, Part.WORK, 1), (7, Part.WORK, 2)] == seen
    assert [(7, Part.WORK, 0)] == interleave(numbered(7), {7: 0})


@given(st.lists(st.integers(0, 3), max_size=9))
def test_every_take_of_a_meeting_is_played(further: list[int]) -> None:
    """Each card's takes are all there, in order, and the wrap-up is last."""
    cards = list(range(len(further)))
    order = numbered(*cards[:-1], last=cards[-1]) if len(cards) > 1 else numbered(*cards)
    again = dict(zip(cards[:-1] if len(cards) > 1 else cards, further, strict=False))
    seen = interleave(order, again)
    for card in cards:
        takes = [n for c, _, n in seen if c == card]
        assert list(range(1 + again.get(card, 0))) == takes
    assert len(cards) < 2 or seen[-1] == (cards[-1], Part.WRAP_UP, 0)
