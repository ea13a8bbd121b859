"""The arithmetic of cutting plans."""
