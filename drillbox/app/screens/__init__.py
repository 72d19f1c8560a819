"""Screens: one a file."""
