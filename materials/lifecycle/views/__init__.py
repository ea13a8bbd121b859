"""Pages of comparisons and of indexes."""
