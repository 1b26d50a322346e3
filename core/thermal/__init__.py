"""Temperatures and heat along given flows: sources, exchangers, emitters, tanks, mixing, pipe loss."""
