"""The box: the facade over decks, take log, memory and plan, and the parts that it delegates to.

`Box` loads when it is first asked for: a command that only needs a name from `views` must not load
the database for it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drillbox.box.facade import Box

__all__ = ["Box"]


def __getattr__(name: str) -> Any:
    if name == "Box":
        from drillbox.box.facade import Box  # noqa: PLC0415 - see the module docstring

        return Box
    raise AttributeError(f"module 'drillbox.box' has no attribute {name!r}")
