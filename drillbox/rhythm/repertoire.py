"""Rhythms and lines that have names, as data.

Rudiments have the names of the Percussive Arts Society's list of 40 (1984); their stickings, but
for the single paradiddle's, are from memory, as is which of them ghost playing needs. Accents are
on the first stroke of each figure and the rest are taps. The names of bass and time lines are our
own, since the trade has none that everybody knows; deck files use them, titles say the counts.
"""

from __future__ import annotations

__all__ = ["BASS_LINES", "NAMED", "STICKINGS", "TIME_LINES"]

STICKINGS = {
    "RRLL": "doubles",
    "RLRRLRLL": "paradiddle",
    "LRLLRLRR": "paradiddle, left leads",
    "RLLRLRRL": "inward paradiddle",
    "RRLRLLRL": "reversed paradiddle",
    "RLRLLRLR": "outward paradiddle",
    "RLRLRRLRLRLL": "double paradiddle",
    "RLRLRLRRLRLRLRLL": "triple paradiddle",
    "RLRRLL": "paradiddle-diddle",
    "LRLLRR": "paradiddle-diddle, left leads",
    "RLRRLLRLRRLL": "paradiddle-diddle",
    "RRL": "two right, one left",
    "RLL": "one right, two left",
    "RLLRLL": "one right, two left",
}
"""Hands by their letters, and what they are called (common practice)."""

NAMED = {
    "snare: >R1 _L1e _R1& _R1a >L2 _R2e _L2& _L2a >R3 _L3e _R3& _R3a >L4 _R4e _L4& _L4a": (
        "single paradiddle"
    ),
    "snare: >L1 _R1e _L1& _L1a >R2 _L2e _R2& _R2a >L3 _R3e _L3& _L3a >R4 _L4e _R4& _R4a": (
        "single paradiddle, left hand leads"
    ),
    "grid: 16t\nsnare: >Rbeat _Lt _Rl _R& _L&t _L&l": "single paradiddle-diddle",
    "grid: 16t\nsnare: >Lbeat _Rt _Ll _L& _R&t _R&l": "paradiddle-diddle, left hand leads",
    "snare: >R1 _L1e _R1& _L1a _R2 _L2e _R2& _R2a >L3 _R3e _L3& _R3a _L4 _R4e _L4& _L4a": (
        "triple paradiddle"
    ),
    "grid: 16t\nsnare: >R1 _L1t _R1l _L1& _R1&t _R1&l >L2 _R2t _L2l _R2& _L2&t _L2&l "
    ">R3 _L3t _R3l _L3& _R3&t _R3&l >L4 _R4t _L4l _R4& _L4&t _L4&l": "double paradiddle",
    "grid: 8\nsnare: /beat /&": "double stroke roll in sixteenths",
    "grid: 8\nsnare: (/beat) (/&)": "double stroke roll in sixteenths, ghosted",
    "snare: /beat /e /& /a": "double stroke roll in thirty-seconds",
    "snare: (/beat) (/e) (/&) (/a)": "double stroke roll in 32nds, ghosted",
    "grid: 8\nsnare: zbeat z&": "buzz roll, hands in eighths",
    "grid: 8\nsnare: (zbeat) (z&)": "buzz roll, hands in eighths, ghosted",
    "snare: zbeat ze z& za": "buzz roll, hands in sixteenths",
    "snare: (zbeat) (ze) (z&) (za)": "buzz roll, hands in sixteenths, ghosted",
    "snare: /1 /1e >1& /2 /2e >2& /3 /3e >3& /4 /4e >4&": "five stroke roll",
    "snare: >1 /1e /1& >1a >2 /2e /2& >2a >3 /3e /3& >3a >4 /4e /4& >4a": "six stroke roll",
    "meter: 2/4\nsnare: /1 /1e /1& >1a /2 /2e /2& >2a": "seven stroke roll",
    "snare: /1 /1e /1& /1a >2 /3 /3e /3& /3a >4": "nine stroke roll",
    "snare: fR1 fL2 fR3 fL4": "flams, hand to hand",
    "snare: dR1 dL2 dR3 dL4": "drags, hand to hand",
    "snare: (fR1) (fL2) (fR3) (fL4)": "flams, hand to hand, ghosted",
    "snare: (dR1) (dL2) (dR3) (dL4)": "drags, hand to hand, ghosted",
    "grid: 8t\nsnare: >fR1 _L1t _R1l >fL2 _R2t _L2l >fR3 _L3t _R3l >fL4 _R4t _L4l": "flam accent",
    "meter: 2/4\nsnare: >fR1 _R1e >fL1& _L1a >fR2 _R2e >fL2& _L2a": "flam tap",
    "grid: 8t\nsnare: >fR1 _R1t _L1l >fR2 _R2t _L2l >fR3 _R3t _L3l >fR4 _R4t _L4l": (
        "Swiss army triplet"
    ),
    "snare: >fR1 _L1e _R1& _R1a >fL2 _R2e _L2& _L2a >fR3 _L3e _R3& _R3a >fL4 _R4e _L4& _L4a": (
        "flam paradiddle"
    ),
    "snare: >fR1 _R1e _L1& _R1a >fL2 _L2e _R2& _L2a >fR3 _R3e _L3& _R3a >fL4 _L4e _R4& _L4a": (
        "single flammed mill"
    ),
    "meter: 2/4\nsnare: >fR1 _L1e >fL1& _R1a >fR2 _L2e >fL2& _R2a": "inverted flam tap",
    "meter: 2/4\nsnare: dR1 >L1& dL2 >R2&": "single drag tap",
    "grid: 8t\nsnare: dR1 L1t R1l >L2 dL3 R3t L3l >R4": "single ratamacue",
    "snare: >/R1 _L1e _R1& _R1a >/L2 _R2e _L2& _L2a >/R3 _L3e _R3& _R3a >/L4 _R4e _L4& _L4a": (
        "single dragadiddle"
    ),
    "grid: 16t\nsnare: 1 1t 1l 1& 1&t 1&l 2 3 3t 3l 3& 3&t 3&l 4": "single stroke seven",
    "meter: 2/4\ngrid: 8t\nsnare: 1 1t 1l 2": "single stroke four",
}
"""What is written, and its name."""

BASS_LINES = {
    "16": {
        "home": "1 3",
        "pick-up": "1 2& 3",
        "answer": "1 3 3&",
        "push": "1 2& 3&",
        "heartbeat": "1 1& 3",
        "skip": "1 1a 3",
        "late": "1 2a 3&",
        "crossed": "1 2a 3e 4&",
        "floor": "1 2 3 4",
    },
    "8t": {
        "home": "1 3",
        "pick-up": "1 2l 3",
        "push": "1 2l 3 4l",
        "skip": "1 1l 3",
        "floor": "1 2 3 4",
    },
}
"""Bass lines by grid and name. The first is the usual one; each is its own exercise alone."""

TIME_LINES = {
    "eighths": {"hat": "beat &"},
    "quarters": {"hat": "beat"},
    "off-beats": {"hat": "&"},
    "sixteenths": {"hat": "beat e & a"},
    "accented": {"hat": ">beat &"},
    "pushed": {"hat": "beat >&"},
    "open last": {"hat": "1 1& 2 2& 3 3& 4 o4&"},
    "open twice": {"hat": "1 1& 2 o2& 3 3& 4 o4&"},
    "open off": {"hat": "beat o&"},
    "ride": {"ride": "beat &"},
    "ride quarters": {"ride": "beat"},
    "ride and foot": {"ride": "beat &", "pedal": "2 4"},
    "ride, foot off": {"ride": "beat &", "pedal": "&"},
    "barks": {"hat": "1 o1& 2& 3 o3& 4&", "pedal": "2 4"},
}
"""Time lines by name: cymbals and foot. The first is the usual one."""
