"""Takeoffs: from the measures of a shape to what it asks for.

``calc/takeoff.py`` lists the shapes; each is a row in a ``SHAPES`` tuple: questions, and a function
to figures, drawing and notes. ``calc/reading.py`` is the one reader for form, preview and stored
measures; inside, everything is feet as ``Fraction``, and ``calc/wording.py`` writes it in the
system it was typed in. Roots, pi and dome chords carry 28 digits.

A ``Takeoff`` keeps measures as typed; its figures are derived, checked by ``check_ledger``, and
worked out again when a build's file comes in. ``TakeoffUse`` is where a figure went;
``required_text`` of the component stays the fact, and what the uses do not cover is “stated by
hand”. A requirement is moved only while it still holds the old figure.

A new shape needs its row, and one in ``SAMPLES`` of ``tests/takeoffs/calc/test_takeoff.py``; form,
page, drawing and screens follow.
"""
