"""Reading comparisons and indexes."""
