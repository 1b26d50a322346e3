"""How each solved figure came about, as a working."""

from core.derivation.figures import of_figure, of_item, of_pipe

__all__ = ["of_figure", "of_item", "of_pipe"]
