"""Puts this folder on the path, so that tests of every room can import `strategies`."""
