"""What size, and why: one module for each family, each number with its working."""
