"""Small pieces that several panels share. They know nothing of plants."""
