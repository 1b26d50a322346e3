"""Curves of circulators: those to choose from, typed or picked ones, and where one meets its system."""
