"""Where another circulator would go, whether it would help and fit, and its curves beside the first."""
