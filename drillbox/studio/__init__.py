"""The studio: progress files of students, and what a teacher sees in them.

Knows nothing of the box or of how tempos are remembered: what is in a progress file is all there
is. Pure but for the open files it is handed: no clock, no folders, no network. docs/studio.md
describes the file.
"""

from __future__ import annotations

from drillbox.studio.drawings import states_in_words
from drillbox.studio.figures import (
    MONTH,
    CardFigures,
    DeckFigures,
    Figures,
    StudentFigures,
    look_at,
    roster,
)
from drillbox.studio.html_page import studio_page
from drillbox.studio.progress import STATES, CardProgress, DeckInfo, Played, Progress
from drillbox.studio.progress_files import (
    FORMAT,
    LONGEST_NAME,
    is_name,
    is_student,
    read_progress,
    write_progress,
)
from drillbox.studio.text_tables import CSV_HEAD, TABLE_HEAD, as_csv, as_objects, table_rows

__all__ = [
    "CSV_HEAD",
    "FORMAT",
    "LONGEST_NAME",
    "MONTH",
    "STATES",
    "TABLE_HEAD",
    "CardFigures",
    "CardProgress",
    "DeckFigures",
    "DeckInfo",
    "Figures",
    "Played",
    "Progress",
    "StudentFigures",
    "as_csv",
    "as_objects",
    "is_name",
    "is_student",
    "look_at",
    "read_progress",
    "roster",
    "states_in_words",
    "studio_page",
    "table_rows",
    "write_progress",
]
