"""Long work in a process of its own: it tells how far it is, and can be ended at any moment."""

import contextlib
import multiprocessing
import os
import sys
import time
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any, Generic, TypeVar

from composer.errors import ComposerError

T = TypeVar("T")
Told = Callable[[float], None]
"""Is told what share is done, 0 to 1."""

NICE = 5
"""So much the screen goes before the work, where both want the processor."""
_share: Any = None


class Apart(Generic[T]):
    """Begins the work at once; the work gets its values and, last, what to tell its progress to.

    The work is a function of a module, its values and its answer are plain: they are pickled.
    """

    def __init__(self, work: Callable[..., T], *values: object) -> None:
        context = multiprocessing.get_context("spawn")
        self._began_s = time.monotonic()
        # While the screen is drawn, stderr has no handle of its own that a child could be given.
        with contextlib.redirect_stderr(sys.__stderr__):
            self._share = context.Value("d", -1.0)
            self._pool = ProcessPoolExecutor(
                1, mp_context=context, initializer=_begin, initargs=(self._share,)
            )
            self._answer: Future[T] = self._pool.submit(_work, work, values)

    @property
    def share(self) -> float | None:
        """What part is done, 0 to 1; None as long as nothing was told."""
        share = float(self._share.value)
        return share if share >= 0 else None

    @property
    def seconds(self) -> int:
        return int(time.monotonic() - self._began_s)

    @property
    def done(self) -> bool:
        return self._answer.done()

    def result(self) -> T:
        """The answer, once it is done.

        Raises
        ------
        ComposerError
            If the work failed: one line.
        """
        try:
            return self._answer.result()
        except ComposerError:
            raise
        except BrokenProcessPool:
            raise ComposerError(
                "the work was ended from outside, perhaps for want of memory; try it again"
            ) from None
        except Exception as error:
            raise ComposerError(f"it could not be done: {error}") from error

    def end(self) -> None:
        """End the work, done or not. What it writes is written whole or not at all."""
        processes = list((self._pool._processes or {}).values())
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            process.terminate()


def _begin(share: Any) -> None:
    global _share
    _share = share
    if hasattr(os, "nice"):
        os.nice(NICE)


def _tell(share: float) -> None:
    _share.value = share


def _work(work: Callable[..., T], values: tuple[object, ...]) -> T:
    return work(*values, _tell)


# ------------------------------------------------------------------ in words


def progress_words(share: float | None, seconds: int) -> str:
    """``"35 %, 7 s"``; at first only the seconds are known."""
    return f"{seconds} s" if share is None else f"{100 * share:.0f} %, {seconds} s"
