"""What writes figures on pages."""
