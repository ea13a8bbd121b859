"""Geometry of pictures in whole numbers: bars, and money over time.

Horizontal places are in per cent, vertical ones in em; ``templates/pictures/`` draws them as SVG
inside the page, each with a title and a description that says the same in words. An outline is
always the reference (new price, plan, budget), hatching the actual, cross-hatching what goes over.
"""
