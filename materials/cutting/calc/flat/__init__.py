"""Cutting in two dimensions: sheets by straight cuts from edge to edge, boards ripped."""
