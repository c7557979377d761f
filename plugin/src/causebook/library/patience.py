"""A limit of time on one case, that names the case and where it was.

The limit is an exception raised in the thread that works, by CPython's own door for it.  It comes through at the next
step of the interpreter: one call into C that never returns (a pattern run over a text) is waited for, which is why
the reader bounds the length of a text, the rows of a table and the number of steps.
"""

from __future__ import annotations

import contextlib
import ctypes
import threading
from collections.abc import Iterator

SECONDS = 120.0
"""How long one case may take.  The hardest of the demo takes 2 s on an idle machine; the rest is for busy ones."""


class TookTooLong(BaseException):
    """The time is over.  Not an Exception, so that no fence within the work takes it for a fault of one piece."""


@contextlib.contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Raise `TookTooLong` in the block once it has run for `seconds`; 0 for no limit."""
    worker, lock, over = threading.get_ident(), threading.Lock(), False

    def interrupt() -> None:
        with lock:
            if not over:
                ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(worker), ctypes.py_object(TookTooLong))

    timer = threading.Timer(seconds, interrupt)
    timer.daemon = True
    if seconds > 0:
        timer.start()
    try:
        yield
    finally:
        with lock:
            over = True
        timer.cancel()
