"""Measurements, printed as ratios to a bare reference taken in the same run."""
