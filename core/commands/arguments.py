"""Words after a command, read strictly. Refusals are one line like those of files."""

from __future__ import annotations

import argparse
from typing import NoReturn

from core.errors import Refusal


class Arguments(argparse.ArgumentParser):
    """A parser that refuses in one line instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        raise Refusal("", message, self.format_usage().strip().removeprefix("usage: "), file=self.prog)
