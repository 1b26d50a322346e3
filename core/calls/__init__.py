"""Which call runs what: every combination of calls, who goes short, what the outlets carry."""
