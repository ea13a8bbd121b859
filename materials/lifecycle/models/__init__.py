"""Tables of lifetime comparisons and of cost indexes."""
