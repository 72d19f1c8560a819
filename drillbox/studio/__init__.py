"""The studio: progress files of students, and what a teacher sees in them.

Knows nothing of the box or of how tempos are remembered: what is in a progress file is all there
is. Pure but for the open files it is handed: no clock, no folders, no network. docs/studio.md
describes the file. Who writes a progress file needs little of the room, so each module loads when
it is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drillbox.studio.attention import SharedTrouble, shared_troubles
    from drillbox.studio.classroom import map_lines
    from drillbox.studio.drawings import states_in_words
    from drillbox.studio.field_checks import LONGEST_NAME, is_name, is_student
    from drillbox.studio.figures import (
        MONTH,
        CardFigures,
        DeckFigures,
        Figures,
        StudentFigures,
        Task,
    )
    from drillbox.studio.html_page import studio_page
    from drillbox.studio.lesson_notes import student_lines
    from drillbox.studio.looking import look_at
    from drillbox.studio.progress import (
        STATES,
        Asked,
        CardProgress,
        DeckInfo,
        HeardMonth,
        Played,
        Progress,
    )
    from drillbox.studio.progress_files import FORMAT, read_progress, write_progress
    from drillbox.studio.reply_files import (
        Goal,
        Reply,
        Wanted,
        is_reply,
        read_reply,
        reply_from_values,
        reply_values,
        write_reply,
    )
    from drillbox.studio.tasks import NextUp, next_up, tasks_of
    from drillbox.studio.text_tables import (
        CSV_HEAD,
        TABLE_HEAD,
        as_csv,
        as_objects,
        class_lines,
        table_rows,
    )

__all__ = [
    "CSV_HEAD",
    "FORMAT",
    "LONGEST_NAME",
    "MONTH",
    "STATES",
    "TABLE_HEAD",
    "Asked",
    "CardFigures",
    "CardProgress",
    "DeckFigures",
    "DeckInfo",
    "Figures",
    "Goal",
    "HeardMonth",
    "NextUp",
    "Played",
    "Progress",
    "Reply",
    "SharedTrouble",
    "StudentFigures",
    "Task",
    "Wanted",
    "as_csv",
    "as_objects",
    "class_lines",
    "is_name",
    "is_reply",
    "is_student",
    "look_at",
    "map_lines",
    "next_up",
    "read_progress",
    "read_reply",
    "reply_from_values",
    "reply_values",
    "shared_troubles",
    "states_in_words",
    "student_lines",
    "studio_page",
    "table_rows",
    "tasks_of",
    "write_progress",
    "write_reply",
]

_LATER = {
    "SharedTrouble": "attention",
    "shared_troubles": "attention",
    "map_lines": "classroom",
    "states_in_words": "drawings",
    "LONGEST_NAME": "field_checks",
    "is_name": "field_checks",
    "is_student": "field_checks",
    "MONTH": "figures",
    "CardFigures": "figures",
    "DeckFigures": "figures",
    "Figures": "figures",
    "StudentFigures": "figures",
    "Task": "figures",
    "studio_page": "html_page",
    "student_lines": "lesson_notes",
    "look_at": "looking",
    "STATES": "progress",
    "Asked": "progress",
    "CardProgress": "progress",
    "DeckInfo": "progress",
    "HeardMonth": "progress",
    "Played": "progress",
    "Progress": "progress",
    "FORMAT": "progress_files",
    "read_progress": "progress_files",
    "write_progress": "progress_files",
    "Goal": "reply_files",
    "Reply": "reply_files",
    "Wanted": "reply_files",
    "is_reply": "reply_files",
    "read_reply": "reply_files",
    "reply_from_values": "reply_files",
    "reply_values": "reply_files",
    "write_reply": "reply_files",
    "NextUp": "tasks",
    "next_up": "tasks",
    "tasks_of": "tasks",
    "CSV_HEAD": "text_tables",
    "TABLE_HEAD": "text_tables",
    "as_csv": "text_tables",
    "as_objects": "text_tables",
    "class_lines": "text_tables",
    "table_rows": "text_tables",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"drillbox.studio.{_LATER[name]}"), name)
