"""Options that are numbers within a range."""

from __future__ import annotations

from math import isnan
from typing import Any

import click


class Whole(click.IntRange):
    """A whole number within a range."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number that a text means, or refuse it."""
        # Python passes over a "_" between digits.
        if isinstance(value, str) and "_" in value:
            self.fail(f"{value!r} is not a valid integer.", param, ctx)
        return super().convert(value, param, ctx)


class Within(click.FloatRange):
    """A number within a range, and a number at all: "nan" lies beyond no end of any range."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number that a text means, or refuse it."""
        # Python passes over a "_" between digits.
        number = float("nan") if "_" in str(value) else super().convert(value, param, ctx)
        if isnan(number):
            self.fail(f"{value!r} is no number.", param, ctx)
        return number
