"""What a box tells of practice: plans, their reasons, the settings, the learned numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.box.beliefs import WAITS_AFTER
from drillbox.box.kept_for_a_day import (
    keep_minutes,
    keep_on_the_stand,
    minutes_of,
    on_the_stand,
)
from drillbox.box.learned_numbers import LEARNED_FROM_TAKES
from drillbox.box.parts import Parts
from drillbox.box.practice import settings_of
from drillbox.box.setting_kinds import checked

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from drillbox.box.lessons import Lesson
    from drillbox.box.settings import Settings
    from drillbox.memory import Parameters
    from drillbox.plan import Item, Plan


class AboutPractice(Parts):
    """Plans, why they are what they are, and the player's settings and numbers behind them."""

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

    def item_for(self, card_id: str, *, bpm: float) -> Item:
        """Return a visit of one take to a card, asked for by the player rather than by the plan."""
        return self._practice.item_for(card_id, bpm=bpm)

    def chosen(self, card_id: str, *, at: datetime) -> Item:
        """Return a visit to a card that the player wants to play now, whatever the plan says."""
        return self._practice.chosen(card_id, self.now(at), self.minutes_today(at=at))

    def why(self, card_id: str, *, at: datetime, minutes: float | None = None) -> str:
        """Return one sentence on why a card is, or is not, in today's plan."""
        return self._practice.why(card_id, self.now(at), minutes or self.minutes_today(at=at))

    def next_practice(self, *, at: datetime) -> tuple[int, Plan]:
        """Return the next practice day, and its plan as it stands now, at the same hour."""
        return self._practice.next_practice(self.now(at), self.settings.minutes)

    def next_day(self, *, at: datetime) -> int:
        """Return the next practice day."""
        return self._practice.next_day(self.now(at))

    def off_until(self, *, at: datetime) -> int | None:
        """Return the next practice day where today is none; None on a practice day."""
        return self._practice.off_until(self.now(at))

    def compared(self, card_id: str, *, at: datetime) -> str:
        """Return in one sentence what playing a card today or the next time would come to."""
        return self._practice.compared(card_id, self.now(at), self.minutes_today(at=at))

    def ahead(self, *, at: datetime, minutes: float, days: int) -> tuple[int, ...]:
        """Return how many cards would be in hand on each of the next days, by minutes a day."""
        return self._practice.ahead(self.now(at), minutes, days=days)

    def learning_is_due(self, *, at: datetime) -> bool:
        """Return whether enough was played since the player's numbers were last learned."""
        from drillbox.box.lessons import is_due  # noqa: PLC0415 - numpy, only now

        return is_due(self.archive, at)

    def learn(self, *, at: datetime) -> Lesson:
        """Learn the player's own numbers from the log, and use them if they predict better."""
        from drillbox.box.lessons import learn  # noqa: PLC0415 - numpy, only now

        self.now(at)  # which tells the beliefs how late it is
        return learn(self.archive, self._beliefs, at=at)

    def learned_from(self, *, at: datetime) -> int:
        """Return from how many of the newest takes the player's numbers are learned."""
        return self.archive.how_many(until=at + WAITS_AFTER, most=LEARNED_FROM_TAKES)

    @property
    def parameters(self) -> Parameters:
        """The player's numbers, with beliefs in step with the log."""
        self._beliefs.refresh()
        return self._beliefs.parameters

    @property
    def settings(self) -> Settings:
        """The player's settings."""
        return settings_of(self.archive)

    def minutes_today(self, *, at: datetime) -> int:
        """Return the length of today's practice: the usual one, unless another was chosen."""
        return minutes_of(self.archive, self.now(at).day, self.settings)

    def choose_minutes_today(self, minutes: int, *, at: datetime) -> None:
        """Make today's practice longer or shorter; tomorrow's is as usual."""
        keep_minutes(self.archive, self.now(at).day, minutes, at)

    def on_the_stand(self, *, at: datetime) -> str:
        """Return the card that was last on the stand today, where a broken-off day goes on."""
        return on_the_stand(self.archive, self.now(at).day)

    def put_on_the_stand(self, card_id: str, *, at: datetime) -> None:
        """Keep for today which card is on the stand."""
        keep_on_the_stand(self.archive, self.now(at).day, card_id, at)

    def change_settings(self, *, at: datetime, **changes: int | str | bool) -> Settings:
        """Store changed settings and return all of them."""
        wanted = {key: checked(key, value) for key, value in changes.items()}
        for key, value in wanted.items():
            self.archive.put_setting(key, value, at)
        return self.settings
