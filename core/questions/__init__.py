"""Questions about one's own plant that only solving it again can answer: why, what if, what is left."""
