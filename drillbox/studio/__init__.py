"""The studio: progress files of students, and what a teacher sees in them.

Knows nothing of the box or of how tempos are remembered: what is in a progress file is all there
is. Pure but for the open files it is handed: no clock, no folders, no network. docs/studio.md
describes the file. Who writes a progress file needs little of the room, so each module loads when
it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late

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

_LATE = {
    "attention": ("SharedTrouble", "shared_troubles"),
    "classroom": ("map_lines",),
    "drawings": ("states_in_words",),
    "field_checks": ("LONGEST_NAME", "is_name", "is_student"),
    "figures": ("MONTH", "CardFigures", "DeckFigures", "Figures", "StudentFigures", "Task"),
    "html_page": ("studio_page",),
    "lesson_notes": ("student_lines",),
    "looking": ("look_at",),
    "progress": ("STATES", "Asked", "CardProgress", "DeckInfo", "HeardMonth", "Played", "Progress"),
    "progress_files": ("FORMAT", "read_progress", "write_progress"),
    "reply_files": (
        "Goal",
        "Reply",
        "Wanted",
        "is_reply",
        "read_reply",
        "reply_from_values",
        "reply_values",
        "write_reply",
    ),
    "tasks": ("NextUp", "next_up", "tasks_of"),
    "text_tables": ("CSV_HEAD", "TABLE_HEAD", "as_csv", "as_objects", "class_lines", "table_rows"),
}
__getattr__ = loading_late(__name__, _LATE)
