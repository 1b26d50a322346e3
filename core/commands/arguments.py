"""Words after a command, read strictly. Refusals are one line like those of files."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import NoReturn

from core.errors import Refusal, WetsideError, escaped

MOST_NAMED = 12  # of what there is to choose from, in one line


class Arguments(argparse.ArgumentParser):
    """A parser that refuses in one line instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        raise WetsideError(escaped(f"{self.prog}: {message}. Try `{self.prog} --help`."))


@contextmanager
def concerning(file: str) -> Iterator[None]:
    """Let refusals of words after a command name the file whose cases, items or curves they missed.

    One that names a file of its own keeps it.
    """
    try:
        yield
    except Refusal as refusal:
        raise refusal.located(file=refusal.file or file) from None


def one_of(names: Sequence[str], none: str) -> str:
    """What there is to choose from, in few words; `none` where there is nothing.

    Examples
    --------
    >>> one_of(["a", "b"], "nothing is drawn")
    'one of a, b'
    >>> one_of([str(k) for k in range(20)], "")
    'one of 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 8 more'
    """
    if not names:
        return none
    rest = len(names) - MOST_NAMED
    shown = ", ".join(names[:MOST_NAMED])
    return f"one of {shown}" + (f" and {rest} more" if rest > 0 else "")
