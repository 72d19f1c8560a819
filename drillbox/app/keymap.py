"""The player's own keys: one file, checked before the app sees it.

The file is TOML, one line a binding: its name, and the keys that shall do it from now on::

    "stand.play" = "space,p"
    "stand.grade.d" = "d,5"

Textual takes unknown names and keys in silence, and drops a binding whose key another one took; so
all of it is checked here. A line that is wrong is left out and said, the others count.
"""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

from textual.binding import Binding

from drillbox.base.files import content_of, missing
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

MOST_BYTES = 1 << 20
_NAMED_KEYS = """
space enter escape tab backspace delete insert home end pageup pagedown up down left right
comma full_stop slash semicolon apostrophe minus plus equals_sign question_mark backslash
left_square_bracket right_square_bracket grave_accent
f1 f2 f3 f4 f5 f6 f7 f8 f9 f10 f11 f12 f13 f14 f15 f16 f17 f18 f19 f20 f21 f22 f23 f24
"""


def bindings_by_screen() -> dict[str, list[Binding]]:
    """Return the bindings of every screen that have a name, by the screen's own name."""
    # They load when opened, and here, where a player has keys of their own.
    from drillbox.app.screens.card import CardPage  # noqa: PLC0415 - see above
    from drillbox.app.screens.setup import Setup  # noqa: PLC0415 - see above
    from drillbox.app.screens.shelf_screen import Shelf  # noqa: PLC0415 - see above
    from drillbox.app.screens.stand import Stand  # noqa: PLC0415 - see above
    from drillbox.app.screens.today import Today  # noqa: PLC0415 - see above
    from drillbox.app.screens.vocabulary_map import VocabularyMap  # noqa: PLC0415 - see above
    from drillbox.app.screens.week import WeekPage  # noqa: PLC0415 - see above
    from drillbox.app.screens.welcome import DeckChoice  # noqa: PLC0415 - see above
    from drillbox.app.screens.wrapup import WrapUp  # noqa: PLC0415 - see above
    from drillbox.app.screens.year_screen import Year  # noqa: PLC0415 - see above

    screens = (
        Today,
        Stand,
        WrapUp,
        Shelf,
        VocabularyMap,
        CardPage,
        WeekPage,
        Year,
        Setup,
        DeckChoice,
    )
    return {
        screen.__name__: [one for one in screen.BINDINGS if isinstance(one, Binding) and one.id]
        for screen in screens
    }


def read_keymap(path: Path) -> tuple[dict[str, str], str]:
    """Return the keymap of a file, and in words what of it was left out; no file is no keymap."""
    if missing(path):
        return {}, ""
    try:
        text = content_of(path, most=MOST_BYTES, error=UsageError).decode()
    except UsageError as refusal:
        return {}, f"No key was changed: {refusal.sentence()}"
    except UnicodeDecodeError:
        return {}, f"{path} is not UTF-8, so no key was changed: save the file as UTF-8."
    try:
        given = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # of thousands of digits, or of brackets, too
        return {}, f"{path} is not TOML, so no key was changed: {error}."
    keymap, problems = checked_keymap(given, bindings_by_screen())
    return keymap, " ".join(f"{path}: {problem}" for problem in problems)


def checked_keymap(
    given: Mapping[str, object], screens: Mapping[str, Iterable[Binding]]
) -> tuple[dict[str, str], list[str]]:
    """Return what of a keymap can be used, and a sentence for each line that cannot.

    Parameters
    ----------
    given
        Keys by the name of a binding, as they were read.
    screens
        The bindings there are, by screen.
    """
    known = {binding.id for bindings in screens.values() for binding in bindings}
    keymap: dict[str, str] = {}
    problems = []
    for name, keys in given.items():
        wrong = _wrong_line(name, keys, known)
        if wrong:
            problems.append(wrong)
        else:
            keymap[name] = ",".join(str(keys).replace(" ", "").split(","))
    for bindings in screens.values():
        for name, other, key in _doubled(list(bindings), keymap):
            problems.append(f"{key} is the key of {other} already, so {name} keeps its own.")
            keymap.pop(name, None)
    return keymap, problems


def _wrong_line(name: str, keys: object, known: set[str | None]) -> str:
    if name not in known:
        return f"there is no {name!r} to give a key to."
    if not isinstance(keys, str) or not keys.strip():
        return f"the keys of {name} are a text such as 'space,p'."
    nonsense = [key for key in keys.replace(" ", "").split(",") if not _is_key(key)]
    return f"{nonsense[0]!r}, for {name}, is no key." if nonsense else ""


def _is_key(key: str) -> bool:
    plain = key.rpartition("+")[2] if key.startswith(("ctrl+", "shift+", "alt+")) else key
    return (len(plain) == 1 and plain.isprintable()) or plain in _NAMED_KEYS.split()


def _doubled(bindings: list[Binding], keymap: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Return (name, other, key) where a key given to one binding of a screen is another's too."""
    found = []
    for binding in bindings:
        name = binding.id or ""
        for other in bindings:
            if name in keymap and other.id != name and ".part." not in f"{other.id}":
                theirs = keymap.get(other.id or "", other.key).split(",")
                found += [
                    (name, other.id or "", key) for key in keymap[name].split(",") if key in theirs
                ]
    return found
