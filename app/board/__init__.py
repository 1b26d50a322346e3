"""The drawing board: a scene that mirrors the document."""
