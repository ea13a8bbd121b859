"""Takeoffs: from the measures of a shape to what it asks for.

A shape is a row in a ``SHAPES`` tuple of ``calc/``; form, page, drawing and screens follow from
it. What a takeoff gives a requirement is moved only while the requirement holds the old figure.
"""
