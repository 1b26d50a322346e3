"""Our own drawings of the symbols (SVG) and the bundled fonts, as package data; no code."""
