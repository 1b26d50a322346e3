"""What Help tells in words, as plain blocks of text. Knows no plant and no window."""
