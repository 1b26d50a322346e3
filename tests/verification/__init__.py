"""Every published or independent check: tests assert through it, the page lists what they compared."""
