"""The immutable plant document, its changes, edits and validity. Not its files."""

from core.plant.model import Case, Item, Pipe, Plant, PortRef, System

__all__ = ["Case", "Item", "Pipe", "Plant", "PortRef", "System"]
