"""What another box brings beside its takes: settings, and what is kept beside them.

Whatever a reader here uses is asked for sense at the door. A reader passes over what came in by
another way, and the checkup names it by the same questions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.box import kept_for_a_day, learned_numbers, lineage
from drillbox.box.setting_kinds import KINDS, REPLY, STUDENT, checked, fits
from drillbox.errors import LogError, ReplyError, UsageError
from drillbox.store.checks import CARD_ID
from drillbox.studio.field_checks import is_name, is_student
from drillbox.studio.reply_files import reply_from_values

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from drillbox.store import Setting


def let_in(settings: Iterable[Setting]) -> None:
    """Refuse another box's settings if one of them makes no sense here.

    Raises
    ------
    LogError
        With the setting's name, and how to mend it there.
    """
    for one in settings:
        if one.key in KINDS:
            try:
                checked(one.key, one.value)
            except UsageError as problem:
                name = one.key.replace("_", "-")
                raise LogError(
                    f"the other box has a setting that makes no sense: {problem.what}",
                    where=name,
                    fix=f"change it there with 'drillbox set {name}', and merge again",
                ) from None
        elif what := nonsense(one):
            raise LogError(
                f"the other box has {what} that makes no sense",
                where=ascii(one.key)[:60],
                fix="run 'drillbox checkup --repair' there, or export its log and merge that",
            )


def nonsense(one: Setting) -> str:
    """Return what is kept beside the player's settings and makes no sense; empty where it does.

    Of a key that this drillbox does not know nothing is said: nothing here reads it.
    """
    for key, (makes_sense, what) in _KEPT.items():
        if one.key == key or (key.endswith("/") and one.key.startswith(key)):
            return "" if makes_sense(one) else what
    return ""


def _links_cards(one: Setting) -> bool:
    ids = (one.key.removeprefix(lineage.KEY), one.value)
    return ids[0] != ids[1] and all(isinstance(s, str) and CARD_ID.fullmatch(s) for s in ids)


def _is_reply(one: Setting) -> bool:
    try:
        reply_from_values(one.key.removeprefix(REPLY), one.value)
    except ReplyError:
        return False
    return True


def _is_student(one: Setting) -> bool:
    value: Any = one.value
    known = isinstance(value, dict) and is_student(value.get("id"))
    return known and (not value.get("name") or is_name(value["name"]))


def _is_length(one: Setting) -> bool:
    match one.value:
        case {"day": int(), "minutes": minutes}:
            return fits("minutes", minutes)
    return False


_KEPT: dict[str, tuple[Callable[[Setting], bool], str]] = {
    lineage.KEY: (_links_cards, "a link between cards"),
    REPLY: (_is_reply, "a teacher's reply"),
    STUDENT: (_is_student, "a student's id"),
    learned_numbers.KEY: (
        lambda one: learned_numbers.are_believed(one.value),
        "a set of learned numbers",
    ),
    kept_for_a_day.MINUTES: (_is_length, "a day's length"),
}
"""By the key, or what it begins with: whether it makes sense, and what it is."""
