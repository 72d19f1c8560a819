"""The box: the one facade over decks, take log, memory and plan, for front ends and scripts.

The take log is the only truth. What is believed of a card is computed from it, cached beside it,
and replayed whenever the log has moved on. Another window may write to the same box at any time, so
every question first asks whether the log has grown.

Conventions: moments are aware datetimes, tempos bpm, lengths seconds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Self
from uuid import uuid4

from drillbox.base.clock import SystemClock
from drillbox.base.now import Now, require_moment
from drillbox.box.beliefs import Beliefs
from drillbox.box.catalogue import Catalogue
from drillbox.box.days_played import Days
from drillbox.box.diary import Diary, take_view, with_measures
from drillbox.box.doubts import Doubts
from drillbox.box.first_tempi import FirstTempi
from drillbox.box.goals import Goals
from drillbox.box.learned_numbers import is_due, learn
from drillbox.box.lineage import lineage
from drillbox.box.practice import Practice, settings_of
from drillbox.box.setting_kinds import checked, let_in
from drillbox.box.shelf import Shelf
from drillbox.box.views import CardView, DeckView, Settings, day_ends_in
from drillbox.errors import BoxDamagedError, BoxError, NotSavedError
from drillbox.store import Archive, TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping
    from datetime import datetime
    from pathlib import Path
    from types import TracebackType

    from drillbox.base.clock import Clock
    from drillbox.box.catalogue import Entry
    from drillbox.box.doubts import LeftOut
    from drillbox.box.learned_numbers import Lesson
    from drillbox.box.replies import Note
    from drillbox.box.views import CardOutlook, DayView, DeckChange, Due, TakeView
    from drillbox.deckfile import Deck
    from drillbox.memory import Grade, Parameters
    from drillbox.plan import Item, Plan
    from drillbox.store import Holdings, Joined, LogEntry
    from drillbox.store.union import Progressing
    from drillbox.studio.replies import Reply

OF_THE_MACHINE = frozenset({"output", "latency_ms", "handed_in"})
"""Settings that speak of one machine, its sound and its folders, and stay on it when boxes meet."""


class Box:
    """A player's whole store: decks, takes, settings.

    Made by `Box.open`; a context manager. Several processes on one file are fine, several threads
    are not.
    """

    def __init__(self, archive: Archive, *, now: datetime, new_id: Callable[[], str]) -> None:
        self.archive = archive
        self._new_id = new_id
        self._refused: dict[tuple[object, ...], str] = {}
        self._catalogue = Catalogue(archive)
        self._diary = Diary(archive)
        self._beliefs = Beliefs(archive, now=now)
        self._shelf = Shelf(archive, self._catalogue, self._beliefs)
        self._first_tempi = FirstTempi(archive, self._catalogue, self._beliefs)
        self._doubts = Doubts(archive, self._beliefs, self._first_tempi)
        self.goals = Goals(archive, self._catalogue, self._beliefs)
        self._practice = Practice(
            archive, self._catalogue, self._beliefs, self._diary, self._first_tempi
        )

    @classmethod
    def open(
        cls,
        path: str | Path,
        *,
        clock: Clock | None = None,
        new_id: Callable[[], str] = lambda: uuid4().hex,
        read_only: bool = False,
    ) -> Self:
        """Open the box at `path`, or create it; ``":memory:"`` keeps it in memory.

        Raises
        ------
        BoxError
            If the file is damaged, foreign, or cannot be used; the sentence says what to do.
        """
        now = (clock or SystemClock()).now()
        archive = Archive.open(path, now=now, new_id=new_id, read_only=read_only)
        try:
            return cls(archive, now=now, new_id=new_id)
        except BaseException:
            archive.close()
            raise

    def close(self) -> None:
        """Let the file go."""
        self.archive.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def now(self, at: datetime) -> Now:
        """Return a moment with its practice day, as this player's days are counted."""
        self._beliefs.tell_time(require_moment(at))
        return Now.of(at, day_ends_in(self.archive.settings()))

    # Decks

    def add_deck(
        self, path: str | Path, *, at: datetime | None = None, older: bool = False
    ) -> DeckChange:
        """Add the deck file at `path`, or its new edition, and return what that changed.

        Raises
        ------
        DeckError
            If the file cannot be used, or is an edition older than the one in the box and `older`
            does not ask for it; the box is as it was.
        """
        from drillbox.deckfile import read  # noqa: PLC0415 - a plan needs no deck files

        return self.put_deck(read(path), at=at or SystemClock().now(), older=older)

    def put_deck(self, deck: Deck, *, at: datetime, older: bool = False) -> DeckChange:
        """Add a deck that was read already, or its new edition."""
        return self._catalogue.put_deck(deck, require_moment(at), older=older)

    def remove_deck(self, deck_id: str) -> None:
        """Take a deck out; its takes stay, and count again when the rhythms come back."""
        self._catalogue.remove_deck(deck_id)

    def archive_deck(self, deck_id: str, *, archived: bool) -> None:
        """Put a deck away, its cards on no shelf and in no plan, or take it out again."""
        self._catalogue.archive_deck(deck_id, archived=archived)

    def decks(self, at: datetime) -> tuple[DeckView, ...]:
        """Return the decks in the order they were added."""
        return self._shelf.decks(self.now(at))

    # A teacher's replies

    def take_in(self, reply: Reply, *, at: datetime) -> bool:
        """Take a teacher's reply in; return whether it is new.

        Raises
        ------
        ReplyError
            It is for another student.
        """
        return self._catalogue.take_in(reply, require_moment(at))

    def replies(self) -> tuple[Reply, ...]:
        """Return the replies that were taken in, the latest last."""
        return self._catalogue.replies()

    def notes(self, *, at: datetime) -> tuple[Note, ...]:
        """Return the teacher's word that stands at a moment, for Today; often none."""
        replies = self.replies()
        if not replies:
            return ()
        from drillbox.box.replies import notes_at  # noqa: PLC0415 - few boxes have any

        return notes_at(replies, self.now(at))

    def asked_ever(self, deck_ids: Collection[str]) -> dict[str, tuple[Due, ...]]:
        """Return all that some decks, and replies, ever asked of cards, by card id."""
        return self._catalogue.asked_ever(deck_ids)

    # Cards

    @property
    def cards_in_box(self) -> int:
        """How many cards there are."""
        return len(self._catalogue.entries())

    def cards(self, *, at: datetime) -> tuple[CardView, ...]:
        """Return every card, in deck order, as it stands at a moment."""
        return self._shelf.cards(self.now(at))

    def card(self, card_id: str, *, at: datetime) -> CardView:
        """Return one card as it stands at a moment."""
        return self._shelf.card(card_id, self.now(at))

    def title(self, card_id: str) -> str:
        """Return a card's title."""
        return self._catalogue.entry(card_id).row.title

    def find(self, text: str) -> str:
        """Return the id of the one card that `text` means.

        An id or its start, a slug, or a title.
        """
        return self._catalogue.find(text)

    def outlook(self, card_id: str, *, at: datetime) -> CardOutlook:
        """Return what is expected of a card at a moment."""
        return self._shelf.outlook(card_id, self.now(at))

    def set_goal(self, card_id: str, *, bpm: float, at: datetime) -> None:
        """Give a card the player's own goal tempo."""
        self._catalogue.wish(card_id, at, goal_bpm=float(bpm))

    def rest(self, card_id: str, *, resting: bool, at: datetime) -> None:
        """Set a card aside, or wake it."""
        self._catalogue.wish(card_id, at, resting=resting)

    def shift_goals(self, deck_id: str, *, by: float, at: datetime) -> None:
        """Move the player's goal of every card of a deck by so many bpm."""
        self.goals.shift(deck_id, by=by, at=at)

    # Practice

    def plan(
        self,
        at: datetime,
        minutes: float = 15,
        *,
        elapsed: float = 0.0,
        without: Collection[str] = (),
    ) -> Plan:
        """Return what to play in what is left of the day's minutes; see `Practice.plan`."""
        return self._practice.plan(self.now(at), minutes, elapsed=elapsed, without=without)

    def tempo_check(
        self,
        at: datetime,
        minutes: float = 15,
        *,
        elapsed: float = 0.0,
        without: Collection[str] = (),
    ) -> Plan:
        """Return a first day that finds out from a dozen telling cards where every card stands."""
        return self._practice.tempo_check(self.now(at), minutes, elapsed=elapsed, without=without)

    def first_tempi(self, card_ids: Iterable[str]) -> dict[str, float]:
        """Return the tempos to expect of cards that were never played; none before any take."""
        guesses = self._first_tempi.guesses(card_ids)
        return {card_id: guess.bpm for card_id, guess in guesses.items()}

    @property
    def nothing_played(self) -> bool:
        """Whether the log is still empty."""
        return self.archive.mark() == 0

    def item_for(self, card_id: str, *, bpm: float) -> Item:
        """Return a visit of one take to a card, asked for by the player rather than by the plan."""
        return self._practice.item_for(card_id, bpm=bpm)

    def why(self, card_id: str, *, at: datetime, minutes: float | None = None) -> str:
        """Return one sentence on why a card is, or is not, in today's plan."""
        return self._practice.why(card_id, self.now(at), minutes or self.settings.minutes)

    def next_practice(self, *, at: datetime) -> tuple[int, Plan]:
        """Return the next practice day, and its plan as it stands now, at the same hour."""
        return self._practice.next_practice(self.now(at), self.settings.minutes)

    def compared(self, card_id: str, *, at: datetime) -> str:
        """Return in one sentence what playing a card today or the next time would come to."""
        return self._practice.compared(card_id, self.now(at), self.settings.minutes)

    def ahead(self, *, at: datetime, minutes: float, days: int) -> tuple[int, ...]:
        """Return how many cards would be in hand on each of the next days, by minutes a day."""
        return self._practice.ahead(self.now(at), minutes, days=days)

    def record(
        self,
        card_id: str,
        bpm: float,
        grade: Grade,
        at: datetime,
        seconds: float,
        *,
        source: str = "self",
        measured: Mapping[str, Any] | None = None,
    ) -> TakeView:
        """Append one take; when this returns, the take is on disk.

        `source` says what gave the grade, `measured` what was measured (`drillbox.ear.log_values`).

        The same take again, after an error, has the same id: it is in the log once, whatever the
        disk did.

        Raises
        ------
        NotSavedError
            If the disk refused: nothing was changed, try again.
        UnknownCardError, UsageError
            If the card is not in the box, or a number cannot be meant.
        """
        now = self.now(at)
        asked = (card_id, bpm, grade, at, seconds, source)
        take = TakeRow(
            id=self._refused.pop(asked, "") or self._new_id(),
            card_id=card_id,
            bpm=float(bpm),
            grade=int(grade),
            at=at,
            zone=now.zone,
            seconds=seconds,
            source=source,
            measures=with_measures(self._first_tempi.expected(card_id), measured),
        )
        self.archive.tell_time(at)
        try:
            self._catalogue.entry(card_id)
            step = self._beliefs.record(take)
        except BoxError as refusal:
            self._refused[asked] = take.id
            if isinstance(refusal, NotSavedError | BoxDamagedError):
                raise
            what = f"not saved: {refusal.what}"
            raise NotSavedError(what, where=refusal.where, fix=refusal.fix) from refusal
        return take_view(take, now.day_ends_at, cold=step is None or step.cold)

    def keep(self, take: TakeRow, *, at: datetime) -> None:
        """Append a take under the id it has: once, however often and by whomever it is asked for.

        Its card may have left the box since it was put up: what was played was played.

        Parameters
        ----------
        take
            The take.
        at
            Now; the take may be older.

        Raises
        ------
        BoxError
            If the box could not be read or written: nothing was changed, try again.
        """
        if self.archive.take(take.id) is not None:
            return
        known = take.card_id in self._catalogue.entries()
        expected = self._first_tempi.expected(take.card_id) if known else None
        self.archive.tell_time(at)
        self._beliefs.tell_time(at)
        self._beliefs.record(replace(take, measures=expected))

    def wait_for_others(self, seconds: float) -> None:
        """Say how long a question or a write waits while another program holds the file."""
        self.archive.wait_for_others(seconds)

    def undo(self, *, at: datetime) -> TakeView | None:
        """Take back the last take of today's practice day; return it, or None if there is none."""
        now, last = self.now(at), self.archive.last_take()
        if last is None:
            return None
        taken = take_view(last, now.day_ends_at, cold=False)
        if taken.day != now.day:
            return None
        self.archive.retract(taken.take_id, at)
        return taken

    def retract(self, take_id: str, *, at: datetime) -> TakeView:
        """Take back any take, by its id or its start; taken back twice is once.

        Raises
        ------
        UnknownCardError
            If no take, or more than one, is meant.
        """
        taken = self._doubts.find(take_id, self.now(at))
        self.archive.retract(taken.take_id, at)
        return taken

    def implausible(self, card_id: str, bpm: float, at: datetime) -> str | None:
        """Return why a take to be saved may be a mistake, in a sentence, or None.

        Its tempo is far from what is expected of the card, or the clock may be wrong.
        """
        return self._doubts.implausible(card_id, bpm, self.now(at))

    def left_out(self, *, at: datetime) -> LeftOut:
        """Return what of the log counts nowhere: entries that make no sense, takes that wait."""
        return self._doubts.left_out(self.now(at))

    def day(self, at: datetime) -> DayView:
        """Return the practice day that a moment belongs to."""
        return self._diary.of_day(self.now(at))

    def history(self, card_id: str) -> tuple[TakeView, ...]:
        """Return a card's takes, oldest first."""
        return self._diary.of_card(card_id)

    def course(self, card_id: str) -> tuple[tuple[TakeView, float], ...]:
        """Return a card's takes, oldest first, each with the cold tempo expected right after it."""
        course, ends = self._beliefs.course(card_id), self._beliefs.day_ends_at
        return tuple(
            (take_view(step.take, ends, cold=step.cold), 2.0**step.after.mu) for step in course
        )

    def days(self) -> Days:
        """Return every card's history by practice days, as columns."""
        return Days.of(self._beliefs.days())

    def ancestors(self, card_id: str) -> tuple[str, ...]:
        """Return the rhythms whose place a card took in new editions, the last first."""
        links = lineage(card_id, self._beliefs.premises.heirs)
        return tuple(link.ancestor for link in links)

    def slipping(self, card_id: str, *, at: datetime, days: int) -> tuple[float, ...]:
        """Return the cold tempo expected today and on each of the next days if it is left alone."""
        self._beliefs.refresh()
        belief, now = self._beliefs.of(card_id), self.now(at)
        moments = (now.on(now.day + day).epoch_days for day in range(days + 1))
        return tuple(2.0 ** belief.cold(one, self._beliefs.parameters)[0] for one in moments)

    def coming(self, *, at: datetime, days: int) -> tuple[CardView, ...]:
        """Return the cards that will slip under their goals within so many days, soonest first."""
        last = self.now(at).day + days
        held = [card for card in self.cards(at=at) if card.holds and card.returns]
        slipping = [card for card in held if card.returns_on and card.returns_on <= last]
        return tuple(sorted(slipping, key=lambda card: (card.returns, card.card_id)))

    def learning_is_due(self, *, at: datetime) -> bool:
        """Return whether enough was played since the player's numbers were last learned."""
        return is_due(self.archive, at)

    def learn(self, *, at: datetime) -> Lesson:
        """Learn the player's own numbers from the log, and use them if they predict better."""
        return learn(self.archive, at=at)

    @property
    def parameters(self) -> Parameters:
        """The player's numbers, with beliefs in step with the log."""
        self._beliefs.refresh()
        return self._beliefs.parameters

    def entries(self) -> dict[str, Entry]:
        """Return the cards by id, in deck order, under the player's wishes."""
        return self._catalogue.entries()

    # Settings

    @property
    def settings(self) -> Settings:
        """The player's settings."""
        return settings_of(self.archive)

    def change_settings(self, *, at: datetime, **changes: int | str | bool) -> Settings:
        """Store changed settings and return all of them."""
        wanted = {key: checked(key, value) for key, value in changes.items()}
        for key, value in wanted.items():
            self.archive.put_setting(key, value, at)
        return self.settings

    # The log as a whole

    def log(self) -> Iterable[LogEntry]:
        """Return every entry of the take log."""
        return self.archive.log()

    def merge(self, entries: Iterable[LogEntry], *, through: Progressing = iter) -> int:
        """Take in another log's entries, which pass `through`; return how many were new."""
        return self.archive.merge(entries, through=through)

    def holdings(self) -> Holdings:
        """Return what is the player's own and travels: the log, the wishes, most settings."""
        own = self.archive.holdings()
        travels = tuple(one for one in own.settings if one.key not in OF_THE_MACHINE)
        return replace(own, settings=travels)

    def join(self, other: Holdings, *, through: Progressing = iter) -> Joined:
        """Bring in what another box holds.

        Of two wishes or settings that differ, the newest stands.

        Any number of boxes come to the same state, whatever the order and however often they meet.
        """
        travels = tuple(one for one in other.settings if one.key not in OF_THE_MACHINE)
        let_in(travels)
        joined = self.archive.join(replace(other, settings=travels), through=through)
        self._catalogue.forget()
        return joined

    def wrong_beliefs(self) -> frozenset[str]:
        """Return the cards whose cached belief is not what a replay of their takes gives."""
        return self._beliefs.wrong()

    def forget_beliefs(self) -> None:
        """Throw away what was computed of the cards, and compute it again from the log."""
        self._beliefs.forget()
