"""The terminal application: screens and widgets over `drillbox.box.facade`.

It never builds a box, a clock or a sound device; those come in as arguments, so every screen runs
in tests.
"""
