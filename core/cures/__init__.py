"""Changes that might cure what a circuit or tap lacks: found, put into the plant, solved, and ranked."""
