"""A sign for each grade, where many stand side by side."""

from __future__ import annotations

from drillbox.memory import Grade

GRADE_SIGNS = {
    Grade.FELL_APART: "v",
    Grade.SHAKY: "-",
    Grade.STEADY: "=",
    Grade.CLEAN: "+",
    Grade.AUTOMATIC: "#",
}
GRADE_LEGEND = "v fell apart  - shaky  = steady  + clean  # automatic"
