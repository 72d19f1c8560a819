"""Widgets: each draws one thing, from values it is given."""
