"""What is asked of a plant in fields: how each value reads, and what a typed text changes. No widgets."""
