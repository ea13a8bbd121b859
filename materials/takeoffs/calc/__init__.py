"""The arithmetic of takeoffs."""
