"""Flows and heads: the plant as a network, the law of each element, and the solving of both."""
