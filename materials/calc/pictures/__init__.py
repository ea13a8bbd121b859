"""Geometry of pictures in whole numbers: bars, and money over time."""
