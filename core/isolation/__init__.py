"""How an item or pipe is taken out of service: valves to close, drain and vent, what else stands."""
