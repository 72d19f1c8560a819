"""Generators: the vocabulary written out, so that nobody has to.

A *figure* is a set of partials of a cell (a beat, a half bar, a bar), put on all cells of a bar or
on chosen ones. It is laid over a base: a groove, or a stream of even strokes. What comes out is
embellished, blended bar by bar with others, or displaced; `Sieve` keeps each rhythm once and says
why something was left out.

Order: sets come by size and then by place; everything is in the same order every time.
"""

from __future__ import annotations

from drillbox.rhythm.generators.blends import Blend, blend, displaced, displacements
from drillbox.rhythm.generators.ghost_figures import Figure, bar_of, covering, figures, partial_sets
from drillbox.rhythm.generators.grooves import STOCK_GROOVES, stock_groove
from drillbox.rhythm.generators.laying import Laid, lay
from drillbox.rhythm.generators.naming import figure_slug
from drillbox.rhythm.generators.sieve import Reason, Sieve, Verdict

__all__ = [
    "STOCK_GROOVES",
    "Blend",
    "Figure",
    "Laid",
    "Reason",
    "Sieve",
    "Verdict",
    "bar_of",
    "blend",
    "covering",
    "displaced",
    "displacements",
    "figure_slug",
    "figures",
    "lay",
    "partial_sets",
    "stock_groove",
]
