"""Plant files: strict reading, stable writing, atomic saving. Not what the plant means."""
