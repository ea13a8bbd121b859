"""How long a search with made-up examples is: ``EXAMPLES=10`` takes ten times as many.

What is slow grows with it too, and is whole at 10; the whole check takes 3.
"""

import os

TIMES = int(os.environ.get("EXAMPLES", "1"))
