"""The one palette. Screens use theme variables only, and meaning never hangs on hue.

Shellac, brass and calf skin on a dark stage; every sign that matters is a shape or a word as well.
"""

from __future__ import annotations

from textual.theme import Theme

STAGE = Theme(
    name="drillbox-stage",
    primary="#c8963e",
    secondary="#7fa6a3",
    accent="#e0b463",
    foreground="#e9e2d3",
    background="#16130f",
    surface="#1e1a15",
    panel="#2a241c",
    success="#9db36a",
    warning="#d9863d",
    error="#cf5c4a",
    dark=True,
)

PAPER = Theme(
    name="drillbox-paper",
    primary="#7a5410",
    secondary="#2f6663",
    accent="#8f5f0a",
    foreground="#241f17",
    background="#f4efe4",
    surface="#ebe4d5",
    panel="#ddd3bf",
    success="#4f6b1c",
    warning="#9a4f0e",
    error="#a33325",
    dark=False,
)
