"""Fluids, tubes, fittings and insulation: catalogues and property tables, each figure with its source."""
