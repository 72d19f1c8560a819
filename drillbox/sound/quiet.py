"""Keep the system's sound libraries from writing over the screen.

ALSA and JACK report to file descriptor 2 whatever they do not find, and a terminal screen is drawn
on the same descriptor. Pointing it elsewhere for a while would swallow what is drawn meanwhile, so
the two are asked to report to a function that does nothing. It is a function of the C library, not
of Python: they may call it from any thread, at any time, the end of the interpreter included.
"""

from __future__ import annotations

import contextlib
import ctypes
import sys

_REPORTERS = {
    "libasound.so.2": ("snd_lib_error_set_handler", "snd_lib_log_set_handler"),
    "libjack.so.0": ("jack_set_error_function", "jack_set_info_function"),
}


def hush() -> None:
    """Silence ALSA and JACK for the rest of the process, where they are installed."""
    if sys.platform != "linux":
        return
    # Called with arguments it does not read, getpid does nothing that can be noticed.
    nothing = ctypes.cast(ctypes.CDLL(None).getpid, ctypes.c_void_p)
    for library, setters in _REPORTERS.items():
        with contextlib.suppress(OSError):
            loaded = ctypes.CDLL(library)
            for name in setters:
                setter = getattr(loaded, name, None)
                if setter is not None:
                    setter(nothing)
