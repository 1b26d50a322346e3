"""The editor: everything that needs Qt. The arithmetic is in `core`."""
