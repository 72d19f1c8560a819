"""What every room may use: days, clock, JSON Lines, MIDI events, wording, text charts.

Every start loads this file, so what the rooms' packages share costs no module more.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["loading_late"]


def loading_late(package: str, homes: Mapping[str, tuple[str, ...]]) -> Callable[[str], Any]:
    """Return the `__getattr__` of a package that loads its modules when they are first asked for.

    Parameters
    ----------
    package
        Its name.
    homes
        What is asked for late, by the name of the module that has it.
    """
    module_of = {name: module for module, names in homes.items() for name in names}

    def load(name: str) -> Any:
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{module_of[name]}"), name)

    return load
