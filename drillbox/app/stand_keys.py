"""The keys of the stand, in the order in which a narrow footer keeps them."""

from __future__ import annotations

from textual.binding import Binding

from drillbox.app.widgets.grade_zones import GRADE_KEYS, PART_KEYS

STAND_KEYS: tuple[Binding, ...] = (
    Binding("space", "play", "play", id="stand.play", tooltip="Start the take, or pause"),
    Binding("r", "retry", "save again", id="stand.retry", tooltip="Try again to save"),
    *(
        Binding(key, f"grade('{key}')", grade.label, id=f"stand.grade.{key}", show=False)
        for key, grade in GRADE_KEYS.items()
    ),
    Binding("l", "listen", "listen", id="stand.listen", tooltip="Hear it: slow, then at tempo"),
    Binding("u", "undo", "undo", id="stand.undo", tooltip="Take the last grade back"),
    Binding("y", "mirror", "hear yourself", id="stand.mirror", tooltip="Your last take, slowly"),
    Binding("k", "keep", "keep it", id="stand.keep", tooltip="Keep the sound of your last take"),
    Binding("n", "skip", "not today", id="stand.skip", tooltip="Leave this card for today"),
    Binding("question_mark", "app.keys", "keys", id="stand.keys", key_display="?"),
    Binding("escape", "leave", "leave", id="stand.leave", tooltip="Back; the day goes on later"),
    Binding("c", "click", "click", id="stand.click", tooltip="Another click"),
    Binding("b", "backing", "backing", id="stand.backing", tooltip="Click, kit, or both"),
    Binding("m", "ramp", "ramp", id="stand.ramp", tooltip="Let the tempo climb, or not"),
    Binding("h", "hands_free", "hands-free", id="stand.hands_free", tooltip="The day runs itself"),
    Binding("enter", "accept", "as heard", id="stand.accept", tooltip="Take the proposed grade"),
    Binding("backspace", "take_back", "undo", id="stand.take_back", key_display="bksp"),
    Binding("up", "nudge(1)", "bpm +1", id="stand.faster", show=False),
    Binding("down", "nudge(-1)", "bpm −1", id="stand.slower", show=False),
    Binding("enter,pageup,pagedown", "pedal", "pedal", id="stand.pedal", show=False),
    *(
        Binding(keys, f"part('{part}')", part, id=f"stand.part.{part}", show=False)
        for part, keys in PART_KEYS.items()
    ),
)

BEFORE_A_TAKE = frozenset(
    {"undo", "listen", "skip", "click", "backing", "ramp", "hands_free", "nudge"}
)
"""What a letter may do while no grade is awaited."""
