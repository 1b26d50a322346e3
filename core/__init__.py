"""The drawing, its files and its arithmetic, without a window. Imports nothing itself."""
