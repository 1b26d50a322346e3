"""Plants of our own invention to open and learn from; each is one `.plant.json`."""
