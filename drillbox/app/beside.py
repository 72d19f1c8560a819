"""What a page loads while it already stands."""

from __future__ import annotations

import asyncio
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from types import ModuleType

    from textual.screen import Screen


async def loaded_beside(page: Screen[Any], module: str) -> ModuleType | None:
    """Return a module loaded in a thread of its own; None where the page was left meanwhile.

    A page that is being taken away has no parts any more for what comes late.
    """
    loaded = await asyncio.to_thread(import_module, module)
    return loaded if page.display else None
