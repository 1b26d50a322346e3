"""The window of the program: puts board, panels, files and the live solve together."""

from app.window.start_up import run

__all__ = ["run"]
