"""Options that are numbers within a range."""

from __future__ import annotations

from math import isnan
from typing import Any

import click


class Within(click.FloatRange):
    """A number within a range, and a number at all: "nan" lies beyond no end of any range."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number that a text means, or refuse it."""
        number = super().convert(value, param, ctx)
        if isnan(number):
            self.fail(f"{value!r} is no number.", param, ctx)
        return number
