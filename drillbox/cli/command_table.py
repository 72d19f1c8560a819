"""Every command: its group, its module, and the one line that ``drillbox --help`` says of it.

Help is printed from this table alone, so that asking for it imports no command.
"""

from __future__ import annotations

from typing import NamedTuple


class Command(NamedTuple):
    """One command: the module of `drillbox.cli` that has it, and its line in the help."""

    home: str
    line: str


COMMANDS: dict[str, dict[str, Command]] = {
    "Practise": {
        "today": Command("playing", "What to play in what is left of today's minutes, and why."),
        "record": Command("playing", "Save takes played away from the stand."),
        "why": Command("playing", "Why a card is in today's plan, or is not."),
        "undo": Command("playing", "Take back today's last take, or any other."),
        "measure": Command("measure_takes", "Measure recorded takes, or a pad's."),
        "track": Command("track", "Write a play-along as a WAV file."),
    },
    "Cards": {
        "cards": Command("cards", "List the cards, or those that some words find."),
        "card": Command("cards", "One card: drawn, what is expected of it, its takes."),
        "goals": Command("bulk", "Give cards a goal tempo, or move their goals."),
        "rest": Command("bulk", "Set cards aside."),
        "wake": Command("bulk", "Wake cards that were set aside."),
    },
    "Decks": {
        "decks": Command("decks", "List, add, write, check and pack decks."),
        "path": Command("vocabulary", "What comes before what: in a deck, or up to a card."),
        "family": Command("vocabulary", "Draw every card of a deck as one table."),
        "sheet": Command("sheets", "Put cards, a deck, today's plan or the map on paper."),
        "read": Command("read_music", "Read cards out of MusicXML and MIDI files."),
    },
    "Look back and ahead": {
        "year": Command("cards", "What was in hand, the minutes, the records."),
        "vocabulary": Command("vocabulary", "The map of all ghost placements."),
        "ahead": Command("cards", "Simulate the next days from the box as it stands."),
        "learn": Command("playing", "Learn your own numbers from your takes."),
    },
    "Teach": {
        "progress": Command("teaching", "Hand your progress to a teacher, as a file."),
        "studio": Command("teaching", "How students get on, from their progress files."),
        "reply": Command("replying", "Answer a student: a word, an assignment, a goal."),
    },
    "The box": {
        "set": Command("preferences", "List, show or change the settings."),
        "checkup": Command("checkups", "Look the box over, and mend what can be mended."),
        "backup": Command("keeping", "Make a backup now; one is also made every day."),
        "restore": Command("keeping", "Put a backup in the place of the box."),
        "export": Command("keeping", "Write the take log to a file."),
        "import": Command("keeping", "Take in a take log from a file."),
        "merge": Command("merging", "Join another box, a log, or a shared folder."),
        "completion": Command("completions", "Print a script that completes commands in a shell."),
        "manual": Command("manual", "Print the manual page."),
    },
}
"""By group, in the order a player meets them."""
HOMES: dict[str, str] = {
    name: command.home for group in COMMANDS.values() for name, command in group.items()
}
"""The module of each command."""
