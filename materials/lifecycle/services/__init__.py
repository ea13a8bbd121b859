"""Writing comparisons and indexes."""
