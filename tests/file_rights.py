"""File rights that bind the tests, whoever runs them.

Root passes by the modes of files with two capabilities; on Linux a thread may lay them down and
take them up again. Numbers and structures are those of ``linux/capability.h``, the calls those of
capget(2); what they allow is in capabilities(7).
"""

from __future__ import annotations

import ctypes
import os
import stat
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

VERSION_3 = 0x20080522
PASS_BY_RIGHTS = (1 << 1) | (1 << 2)
"""CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH."""


class _Header(ctypes.Structure):
    _fields_ = (("version", ctypes.c_uint32), ("pid", ctypes.c_int))


class _Sets(ctypes.Structure):
    _fields_ = (
        ("effective", ctypes.c_uint32),
        ("permitted", ctypes.c_uint32),
        ("inheritable", ctypes.c_uint32),
    )


@contextmanager
def rights_count() -> Iterator[None]:
    """Let this thread pass by no file's mode, not even root's; children that it starts still do."""
    if os.name != "nt" and os.geteuid() != 0:
        yield
        return
    if sys.platform != "linux":
        pytest.skip("only Linux can bind root by the rights of files")
    libc = ctypes.CDLL(None, use_errno=True)
    header, sets = _Header(VERSION_3, 0), (_Sets * 2)()
    assert libc.capget(ctypes.byref(header), sets) == 0
    held = sets[0].effective
    sets[0].effective = held & ~PASS_BY_RIGHTS
    assert libc.capset(ctypes.byref(header), sets) == 0
    try:
        yield
    finally:
        sets[0].effective = held
        assert libc.capset(ctypes.byref(header), sets) == 0


@contextmanager
def with_mode(path: Path, mode: int) -> Iterator[None]:
    """Give a file or folder a mode that binds everybody, and its own mode back at the end."""
    before = stat.S_IMODE(path.stat().st_mode)
    path.chmod(mode)
    try:
        with rights_count():
            yield
    finally:
        path.chmod(before)
