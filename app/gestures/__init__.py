"""What hand and keyboard do on the board, one gesture a module."""
