"""The one reading of the water: what hangs together, loops, dead ends. Nothing is solved here."""
