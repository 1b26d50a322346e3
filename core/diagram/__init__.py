"""Geometry of the drawing, without Qt: symbols, routes, labels and the words beside them."""
