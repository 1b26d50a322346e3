"""What stands beside the board: shelf, particulars, cases, notes."""
