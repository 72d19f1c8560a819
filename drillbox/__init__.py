"""drillbox: a spaced-repetition practice scheduler for rhythmic vocabulary.

``Box`` and ``Grade`` are the whole public face; both load only when asked for, so that ``drillbox
--help`` starts at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drillbox.box import Box
    from drillbox.memory import Grade

__all__ = ["Box", "Grade", "__version__"]

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name == "Box":
        from drillbox.box import Box  # noqa: PLC0415 - see the module docstring

        return Box
    if name == "Grade":
        from drillbox.memory import Grade  # noqa: PLC0415 - see the module docstring

        return Grade
    raise AttributeError(f"module 'drillbox' has no attribute {name!r}")
