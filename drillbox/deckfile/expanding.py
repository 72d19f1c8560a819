"""From families to cards: the same cards, names and order every time.

Every draft of a family is judged: a card that another one already is, that two hands cannot play or
that the deck skips is left out, with a reason that can be asked for, and passed over: what would
come after it comes after its twin, or after what it would have built on itself. In a family the
cards stand by difficulty.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.wording import did_you_mean, nearest, was_meant
from drillbox.deckfile.deck import Card, LeftOut
from drillbox.deckfile.drafting import blends, displaced_cards, placements
from drillbox.deckfile.families import read_family
from drillbox.deckfile.tables import MAX_SLUG
from drillbox.rhythm import GOAL_SHARE, facts, title
from drillbox.rhythm.generators import Sieve

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from drillbox.deckfile.drafting import Draft
    from drillbox.deckfile.families import Family
    from drillbox.deckfile.groove_tables import Groove
    from drillbox.deckfile.tables import Table
    from drillbox.rhythm.generators import Verdict

__all__ = ["Expander", "expand"]

MAX_STROKES = 500_000
"""Of all cards that families draft: the largest deck with some fifty strokes a card."""


def expand(
    tables: Sequence[Table],
    groove: Groove,
    written: Sequence[Card],
    *,
    deck_id: str,
    goal_bpm: float,
    limit: int,
) -> Expander:
    """Return a deck's cards with all that its families make.

    Parameters
    ----------
    tables
        The families' tables, in order.
    groove, deck_id, goal_bpm
        The deck's.
    written
        The cards that stand in the file one by one.
    limit
        How many cards families may draft, all together.
    """
    grown = Expander(written, deck_id=deck_id, goal_bpm=goal_bpm, limit=limit)
    seen: set[str] = set()
    for table in tables:
        family = read_family(table, groove)
        if family is None:
            continue
        if family.slug in seen or family.slug in grown.cards:
            table.wrong("id", f"a second {family.slug!r}", "give every family and card its own id")
        elif not table.problems:
            grown.add(family)
        seen.add(family.slug)
    return grown


class Expander:
    """A deck's cards as they grow, family by family.

    Parameters
    ----------
    written
        The cards that stand in the file one by one.
    deck_id, goal_bpm
        The deck's.
    limit
        How many drafts families may have, all together.
    """

    def __init__(
        self, written: Sequence[Card], *, deck_id: str, goal_bpm: float, limit: int
    ) -> None:
        self._deck_id = deck_id
        self._goal_bpm = goal_bpm
        self._room = limit
        self._strokes = 0
        self._sieve = Sieve()
        self._families: dict[str, list[str]] = {}
        self._origins: dict[str, str] = {}
        self._standing: dict[object, tuple[str, ...]] = {}
        self.cards = {card.slug: card for card in written}
        self.tables: dict[str, Table] = {}
        self.left_out: dict[str, LeftOut] = {}
        for card in written:
            self._sieve.remember(card.slug, card.card_id)
            self._standing[card.slug] = self._standing[card.card_id] = (card.slug,)

    def add(self, family: Family) -> None:
        """Add a family's cards: ground by ground, fewer partials first, hardest last."""
        made: list[tuple[tuple[float, ...], Card]] = []
        names: dict[str, None] = {}
        for draft in self._drafts(family):
            slug = f"{family.slug}-{draft.name}"
            self._room -= 1
            self._strokes += len(draft.laid.pattern.strokes) if draft.laid.pattern else 0
            if self._room < 0 or self._strokes > MAX_STROKES:
                family.table.wrong("id", "the families make too many cards", "split the deck")
                return
            if not self._named_well(family, slug, names):
                return
            names[slug] = None
            found = self._card(family, draft, slug)
            if found is not None:
                made.append(found)
        self._families[family.slug] = []
        for _, card in sorted(made, key=lambda found: found[0]):
            self.cards[card.slug] = card
            self.tables[card.slug] = family.overrides.get(card.slug, family.usual).table
            self._families[family.slug].append(card.slug)
        _check_names(family, [*names])

    def in_order(self, kinds: Sequence[str]) -> tuple[Card, ...]:
        """Return all cards, each after what it builds on, else as they stand in the file.

        Parameters
        ----------
        kinds
            ``card`` or ``family`` for each table of the file, in its order.
        """
        made = {slug for slugs in self._families.values() for slug in slugs}
        written = iter([slug for slug in self.cards if slug not in made])
        families = iter(self._families.values())
        standing: list[str] = []
        for kind in kinds:
            standing += next(families, ()) if kind == "family" else (next(written, ""),)
        placed: dict[str, Card] = {}
        for slug in dict.fromkeys([*filter(None, standing), *self.cards]):
            path = [slug]
            while path:
                top = self.cards[path[-1]]
                missing = next((name for name in top.after if name not in placed), None)
                if missing is None:
                    placed[path.pop()] = top
                else:
                    path.append(missing)
        return tuple(placed.values())

    def _drafts(self, family: Family) -> Iterable[Draft]:
        if family.placements is not None:
            return placements(family, family.placements)
        if family.blend is not None:
            first = list(self._meant(family, "of", family.of))
            second = list(self._meant(family, "with", family.others))
            return blends(family.blend, first, second, self._origins)
        moved = list(self._meant(family, "displace", family.displace))
        return displaced_cards(family, moved, self._origins)

    def _meant(self, family: Family, key: str, names: Sequence[str]) -> Iterator[Card]:
        """Yield the cards that names of cards and families mean."""
        for name in names:
            if name in self._families:
                yield from (self.cards[slug] for slug in self._families[name])
            elif name in self.cards:
                yield self.cards[name]
            else:
                known = [*self.cards, *self._families]
                above = "name a card or a family that stands above"
                if name in self.left_out:
                    fix = f"it was left out: {self.left_out[name].reason}"
                else:
                    fix = did_you_mean(name, known, otherwise=above)
                family.table.wrong(key, f"no card or family {name!r}", fix, item=name)
                return

    def _named_well(self, family: Family, slug: str, names: Collection[str]) -> bool:
        """Whether a draft's names can be used; else there is a complaint."""
        if slug in names or slug in self.cards:
            what, fix = f"two cards would have the id {slug!r}", "give one family another id"
        elif len(slug) > MAX_SLUG:
            what, fix = f"the id {slug!r} is longer than {MAX_SLUG}", "give the family a shorter id"
        else:
            return True
        family.table.wrong("id", what, fix)
        return False

    def _card(
        self, family: Family, draft: Draft, slug: str
    ) -> tuple[tuple[float, ...], Card] | None:
        """Judge a draft: return its place and the card, or None where it is left out."""
        own = family.overrides.get(slug, family.usual)
        built_on = (slug for key in draft.before for slug in self._standing.get(key, ()))
        before = tuple(dict.fromkeys(built_on))
        goal = own.goal_bpm or draft.goal_bpm or self._goal_bpm
        floor = min(goal, own.lowest_bpm or goal)
        pattern = draft.laid.pattern
        called = own.title or (slug if pattern is None else title(pattern))
        if pattern is None or slug in family.skip:
            reason = "skipped by the deck" if slug in family.skip else draft.laid.reason
            self._leave_out(draft, slug, called, reason, before)
            return None
        verdict = self._sieve.judge(slug, pattern, bpm=floor)
        if verdict.reason is not None:
            twins = (verdict.twin,) if verdict.twin else before
            self._leave_out(draft, slug, called, verdict.detail, twins)
            return None
        for key in (draft.key, slug, verdict.card_id):
            self._standing[key] = (slug,)
        self._origins[slug] = family.slug
        after = before or family.after if own.after is None else own.after
        card = Card(
            deck_id=self._deck_id,
            slug=slug,
            title=called,
            pattern=pattern,
            card_id=verdict.card_id,
            goal_bpm=_reachable(goal, floor, verdict),
            importance=own.importance,
            after=after,
            family=own.label,
            note=own.note,
        )
        return (*draft.rank, facts(pattern, verdict.movement).difficulty), card

    def _leave_out(
        self, draft: Draft, slug: str, called: str, reason: str, instead: tuple[str, ...]
    ) -> None:
        self.left_out[slug] = LeftOut(slug, called, reason)
        self._standing[draft.key] = instead


def _reachable(goal: float, floor: float, verdict: Verdict) -> float:
    """Return the goal, or the even tempo from the floor up that both hands can hold."""
    top = verdict.movement.top_bpm
    held = goal if top is None else top * GOAL_SHARE
    return goal if held >= goal else max(floor, held // 2 * 2)


def _check_names(family: Family, names: Sequence[str]) -> None:
    """Complain about the first card that is overridden or skipped but not made."""
    known = set(names)
    for slug, own in family.overrides.items():
        if slug not in known:
            own.table.wrong("id", *_unknown(family, slug, names))
            return
    for slug in family.skip:
        if slug not in known:
            family.table.wrong("skip", *_unknown(family, slug, names), item=slug)
            return


def _unknown(family: Family, slug: str, names: Sequence[str]) -> tuple[str, str]:
    near = nearest(slug, names) or next(iter(names), None)
    fix = was_meant(near, otherwise="take it out")
    return f"the family {family.slug!r} makes no card {slug!r}", fix
