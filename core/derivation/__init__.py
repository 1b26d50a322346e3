"""How each solved figure came about, as a working."""
