"""Words after a command, read strictly. Refusals are one line like those of files."""

from __future__ import annotations

import argparse
from typing import NoReturn

from core.errors import WetsideError, escaped


class Arguments(argparse.ArgumentParser):
    """A parser that refuses in one line instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        raise WetsideError(escaped(f"{self.prog}: {message}. Try `{self.prog} --help`."))
