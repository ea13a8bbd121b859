"""The bench itself: every case runs, small, and gives rows that say what they are of."""

CASES = ("sheet", "lists", "many", "export", "import", "purchase", "load", "office")
