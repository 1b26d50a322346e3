"""What is asked of each pipe and item: heat, flow, draws at once, and the pressure lost on the way."""
