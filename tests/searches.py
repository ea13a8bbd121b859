"""How long a search with made-up examples is: ``EXAMPLES=10`` takes ten times as many."""

import os

TIMES = int(os.environ.get("EXAMPLES", "1"))
