"""Where a figure comes from: one sentence, the parts it sums, what it leaves out."""
